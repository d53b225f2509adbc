/** A machine by its label from any page: typed or read in by a hand scanner, chosen from a list or opened at once. */
import { keepPreviousData, useQuery } from '@tanstack/react-query'
import { type KeyboardEvent, type ReactNode, useEffect, useId, useRef, useState } from 'react'
import { useNavigate } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { sayWord } from '../ui/format.js'

type Found = Answer<'listMachines'>['items'][number]

const SHOWN = 8
/** Letters typed quickly are asked for once. */
const PAUSE_MS = 150

const ask = (term: string): Promise<Answer<'listMachines'>> =>
  call('listMachines', { query: { search: term, order: 'closest', limit: SHOWN } })

/** Alt and L goes to the field from anywhere but another field, where the two may write a sign. */
function useShortcut(focus: () => void): void {
  useEffect(() => {
    const heard = (event: globalThis.KeyboardEvent): void => {
      if (event.code !== 'KeyL' || !event.altKey || event.ctrlKey || event.metaKey || event.shiftKey) return
      if (event.target instanceof HTMLElement && event.target.closest('input, textarea, select, [contenteditable]')) return
      event.preventDefault()
      focus()
    }
    addEventListener('keydown', heard)
    return () => removeEventListener('keydown', heard)
  }, [focus])
}

function useSettled(text: string): string {
  const [settled, setSettled] = useState(text)
  useEffect(() => {
    const timer = setTimeout(() => setSettled(text), PAUSE_MS)
    return () => clearTimeout(timer)
  }, [text])
  return settled
}

export function FindLabel(): ReactNode {
  const navigate = useNavigate()
  const field = useRef<HTMLInputElement>(null)
  const focus = useRef(() => field.current?.select())
  useShortcut(focus.current)
  const list = useId()
  const [text, setText] = useState('')
  const [open, setOpen] = useState(false)
  const [at, setAt] = useState(-1)
  const term = text.trim()
  const settled = useSettled(term)
  const found = useQuery({
    queryKey: ['find-label', settled],
    queryFn: () => ask(settled),
    enabled: open && settled !== '',
    placeholderData: keepPreviousData,
    retry: false,
  })
  const rows = settled === '' ? [] : (found.data?.items ?? [])
  const more = (found.data?.nextCursor ?? null) !== null
  const options = rows.length + (more ? 1 : 0)

  const go = (address: string): void => {
    setOpen(false)
    setText('')
    setAt(-1)
    field.current?.blur()
    void navigate(address)
  }
  const choose = (index: number): void => {
    const row = rows[index]
    go(row ? `/machines/${row.id}` : `/machines?search=${encodeURIComponent(term)}`)
  }
  /** A scanner ends with Enter before any list could come. */
  async function enter(): Promise<void> {
    if (term === '') return
    if (at >= 0 && settled === term) return choose(at)
    const answer = await ask(term).catch(() => null)
    const [first, second] = answer?.items ?? []
    if (first && (second === undefined || first.labelCode.toLowerCase() === term.toLowerCase())) go(`/machines/${first.id}`)
    else setOpen(true)
  }
  function pressed(event: KeyboardEvent): void {
    if (event.key === 'Enter') void enter()
    else if (event.key === 'Escape') setOpen(false)
    else if (event.key === 'ArrowDown' || event.key === 'ArrowUp') {
      setOpen(true)
      if (options > 0) setAt((event.key === 'ArrowDown' ? at + 1 : Math.max(at, 0) + options - 1) % options)
    } else return
    event.preventDefault()
  }
  const shown = open && term !== ''
  return (
    <div className="find" role="search" aria-label="One machine">
      <input
        ref={field}
        type="search"
        role="combobox"
        aria-label="Find a machine by its label"
        aria-keyshortcuts="Alt+L"
        aria-expanded={shown}
        aria-controls={list}
        aria-autocomplete="list"
        aria-activedescendant={shown && at >= 0 ? `${list}-${at}` : undefined}
        placeholder="Find a label"
        title="Alt and L from anywhere on the page"
        autoComplete="off"
        spellCheck={false}
        maxLength={100}
        value={text}
        onChange={(event) => {
          setText(event.target.value)
          setOpen(true)
          setAt(-1)
        }}
        onFocus={() => setOpen(true)}
        onBlur={() => setOpen(false)}
        onKeyDown={pressed}
      />
      <div id={list} role="listbox" aria-label="Machines found" className="found" hidden={!shown || options === 0}>
        {rows.map((row, index) => (
          <Option key={row.id} id={`${list}-${index}`} chosen={index === at} onChoose={() => choose(index)}>
            <OneFound row={row} />
          </Option>
        ))}
        {more ? (
          <Option id={`${list}-${rows.length}`} chosen={at === rows.length} onChoose={() => choose(rows.length)}>
            More with ‘{settled}’…
          </Option>
        ) : null}
      </div>
      {shown && options === 0 ? (
        <div className="found">
          <NothingFound term={term} waiting={found.isFetching || settled !== term} failed={found.error !== null} />
        </div>
      ) : null}
      <span className="seen-by-readers" role="status">
        {shown && !found.isFetching && settled === term ? `${rows.length}${more ? ' and more' : ''} found` : ''}
      </span>
    </div>
  )
}

function OneFound({ row }: { row: Found }): ReactNode {
  const place = [row.warehouse?.name, row.station?.name].filter((name) => name).join(', ')
  return (
    <>
      <strong>{row.labelCode}</strong> <span className="soft small">{row.serialNumber}</span>
      <div className="soft small">
        {place || 'stands in no warehouse'}
        {row.status === 'in_service' ? '' : `; ${sayWord(row.status)}`}
      </div>
    </>
  )
}

/** A mouse chooses on the way down, before the field loses its focus and the list with it. */
function Option({ id, chosen, onChoose, children }: { id: string; chosen: boolean; onChoose: () => void; children: ReactNode }): ReactNode {
  return (
    <div
      id={id}
      role="option"
      tabIndex={-1}
      aria-selected={chosen}
      onMouseDown={(event) => {
        event.preventDefault()
        onChoose()
      }}
    >
      {children}
    </div>
  )
}

function NothingFound({ term, waiting, failed }: { term: string; waiting: boolean; failed: boolean }): ReactNode {
  if (failed) return <p className="small">The server cannot be asked just now. The label stays in the field: press Enter to try again.</p>
  if (waiting) return <p className="soft small">Looking …</p>
  return (
    <p className="small">
      No label or serial number holds ‘{term}’ in the warehouses you see. The letters stand under the square code of the label.
    </p>
  )
}
