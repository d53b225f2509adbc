/** What a kept entry is, in so many words that its person knows it again when it is lost. */
import { type HandStore, type KeptEntry, keptPage } from './outbox.js'
import { labelOfMachine } from './machines-kept.js'

const WORK: Readonly<Record<string, string>> = {
  accept: 'accepted',
  acknowledge_cautions: 'cautions read',
  start: 'work begun',
  wait: 'a wait',
  resume: 'gone on',
  answer_step: 'a step answered',
  use_part: 'a part used',
  put_back_part: 'a part put back',
  task_done: 'a task done',
  task_not_done: 'a task not done',
  task_again: 'a task taken up again',
  function_check: 'the function check',
  tag_out: 'tagged out',
  hand_back: 'handed back',
  finish: 'finished',
}
const POSTS: readonly [RegExp, string][] = [
  [/\/stoppages$/, 'it stands still'],
  [/\/closing$/, 'works again'],
  [/\/evidence$/, 'how much it runs'],
  [/\/photos$/, 'a photo'],
  [/\/standing$/, 'where it stands'],
  [/\/moves$/, 'where it stands now'],
  [/\/status$/, 'its status'],
  [/\/acknowledgements$/, 'cautions of a round read'],
  [/\/undo$/, 'an answer of the round taken back'],
]

function workWords(body: Record<string, unknown>): string {
  const kind = String(body.kind)
  if (kind === 'measure') return `measured ${String(body.value)} ${String(body.unit ?? '')}`.trim()
  if (kind === 'finding' || kind === 'note') return `${kind}: ${String(body.text)}`
  return WORK[kind] ?? kind.replaceAll('_', ' ')
}

function roundWords({ outcome, reason }: Record<string, unknown>): string {
  return outcome === 'done' ? 'care done' : `care not done: ${String(reason ?? 'no reason').replaceAll('_', ' ')}`
}

async function machineWords(store: HandStore, { workOrderId, path, body, machineId: about }: KeptEntry): Promise<string> {
  if (workOrderId !== undefined) {
    const sheet = await keptPage<{ number: number; machine: { labelCode: string } }>(store, `/api/v1/work-orders/${workOrderId}`)
    return sheet ? `${sheet.data.machine.labelCode}, order ${sheet.data.number}` : 'an order'
  }
  const code = /\/machine-labels\/([^/]+)\//.exec(path ?? '')?.[1]
  if (code !== undefined) return decodeURIComponent(code)
  const machineId =
    about ?? /\/machines\/([^/]+)\//.exec(path ?? '')?.[1] ?? (typeof body.machineId === 'string' ? body.machineId : undefined)
  return machineId === undefined ? 'a round' : ((await labelOfMachine(store, machineId)) ?? 'a machine')
}

/** At most 160 letters. */
export async function whatOf(store: HandStore, entry: KeptEntry): Promise<string> {
  const said =
    entry.kind === 'work'
      ? workWords(entry.body)
      : entry.kind === 'post'
        ? (POSTS.find(([path]) => path.test(entry.path ?? ''))?.[1] ?? 'an entry')
        : roundWords(entry.body)
  return `${await machineWords(store, entry)}: ${said}`.slice(0, 160)
}
