/** Which components a type has, and components of one's own making beside those of the product. */
import { useQuery } from '@tanstack/react-query'
import { type FormEvent, type ReactNode, useState } from 'react'
import { call } from '../client/api.js'
import { Bones, Fault, Field } from '../ui/parts.js'
import type { MachineType } from './machine-type-fields.js'
import { RecordFault, useRecordChange, type Words } from './record-change.js'
import { useChange } from './use-change.js'
import { useStep } from './use-step.js'

interface Kept {
  componentKeys: string[]
}
const keysOf = ({ componentTypes, version }: MachineType): Kept & { version: number } => ({
  componentKeys: componentTypes.map(({ key }) => key).toSorted(),
  version,
})

export function TypeComponents({ type }: { type: MachineType }): ReactNode {
  const components = useQuery({ queryKey: ['component-types'], queryFn: () => call('listComponentTypes', {}) })
  return (
    <section aria-labelledby="components">
      <h2 id="components">Its components</h2>
      <p className="soft">Parts are offered for the components that a type has. What falls due is said by its service plan.</p>
      {components.isPending ? <Bones /> : null}
      {components.error ? <Fault error={components.error} again={() => void components.refetch()} /> : null}
      {components.data ? (
        <>
          <Has key={keysOf(type).componentKeys.join()} type={type} all={components.data.items} />
          <AddOwn type={type} />
          <Rename all={components.data.items} />
        </>
      ) : null}
    </section>
  )
}

type Component = MachineType['componentTypes'][number]

function Has({ type, all }: { type: MachineType; all: readonly Component[] }): ReactNode {
  const params = { machineTypeId: type.id }
  const { opened, now, error, keep } = useRecordChange<Kept>({
    record: keysOf(type),
    read: async () => keysOf(await call('getMachineType', { params })),
    send: (body) => call('patchMachineType', { params, body }),
    onEnd: () => undefined,
  })
  const words: Words<Kept> = {
    componentKeys: ['What it has', (keys) => keys.map((key) => all.find((one) => one.key === key)?.name ?? key).join(', ') || 'nothing'],
  }
  function submit(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    keep({ componentKeys: new FormData(event.currentTarget).getAll('component').map(String).toSorted() })
  }
  return (
    <form onSubmit={submit} aria-label="Its components">
      <RecordFault error={error} opened={opened} now={now} words={words} />
      <fieldset className="days">
        <legend>It has</legend>
        {all.map(({ key, name }) => (
          <label key={key}>
            <input type="checkbox" name="component" value={key} defaultChecked={opened.componentKeys.includes(key)} /> {name}
          </label>
        ))}
      </fieldset>
      <button>Keep what it has</button>
    </form>
  )
}

/** Programs and files name a component by its key; people never see it. */
const keyOf = (name: string): string =>
  `own_${name
    .normalize('NFKD')
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '_')
    .replace(/^_|_$/g, '')}`.slice(0, 60)

function AddOwn({ type }: { type: MachineType }): ReactNode {
  const { error, change } = useChange()
  const made = useStep<Component>()
  function add(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const form = event.currentTarget
    const name = String(new FormData(form).get('name')).trim()
    void change(async () => {
      const body = { key: keyOf(name), name }
      const { key } = await made(name, () => call('createComponentType', { body }))
      const componentKeys = [...keysOf(type).componentKeys, key]
      await call('patchMachineType', { params: { machineTypeId: type.id }, body: { componentKeys, version: type.version } })
      form.reset()
    })
  }
  return (
    <details>
      <summary>Add a component of your own…</summary>
      <form onSubmit={add} aria-label="Add a component of your own">
        {error ? <Fault error={error} /> : null}
        <Field label="What it is called">{(id) => <input id={id} name="name" required maxLength={200} pattern=".*\S.*" />}</Field>
        <button>Add it to this type</button>
      </form>
    </details>
  )
}

function Rename({ all }: { all: readonly Component[] }): ReactNode {
  const { error, change } = useChange()
  const [componentTypeId, choose] = useState('')
  const chosen = all.find(({ id }) => id === componentTypeId) ?? all[0]
  if (!chosen) return null
  function rename(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const name = String(new FormData(event.currentTarget).get('name')).trim()
    void change(() => call('patchComponentType', { params: { componentTypeId: chosen?.id ?? '' }, body: { name } }))
  }
  return (
    <details>
      <summary>Call a component by another name…</summary>
      <form onSubmit={rename} aria-label="Call a component by another name">
        {error ? <Fault error={error} /> : null}
        <Field label="Component" hint="On all types that have it.">
          {(id) => (
            <select id={id} value={chosen.id} onChange={(event) => choose(event.target.value)}>
              {all.map((one) => (
                <option key={one.id} value={one.id}>
                  {one.name}
                </option>
              ))}
            </select>
          )}
        </Field>
        <Field label="New name">
          {(id) => <input key={chosen.id} id={id} name="name" required maxLength={200} defaultValue={chosen.name} />}
        </Field>
        <button>Keep the name</button>
      </form>
    </details>
  )
}
