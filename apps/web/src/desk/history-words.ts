/** What one entry of the history says, in words: the fields that differ, from what to what. */
import { sayWord } from '../ui/format.js'

/** Not what a person changed, but what came with it. */
const BESIDE = new Set([
  'id',
  'version',
  'today',
  'upToDate',
  'requestId',
  'stripsTotal',
  'late',
  'pastHardLimit',
  'allowed',
  'why',
  'trust',
])
const AT_MOST = 60

type Plain = string | number | boolean | null
const isPlain = (value: unknown): value is Plain => value === null || ['string', 'number', 'boolean'].includes(typeof value)
const isRecord = (value: unknown): value is Record<string, unknown> => typeof value === 'object' && value !== null && !Array.isArray(value)
const named = (value: unknown): unknown => (isRecord(value) ? (value.name ?? value.labelCode ?? value.number ?? undefined) : value)

/** 'serialNumber' as 'serial number'. */
const fieldWords = (field: string): string => field.replaceAll(/([A-Z])/g, (letter) => ` ${letter.toLowerCase()}`)

function valueWords(value: Plain): string {
  if (value === null || value === '') return 'nothing'
  if (value === true) return 'yes'
  if (value === false) return 'no'
  const words = sayWord(String(value))
  return words.length > AT_MOST ? `${words.slice(0, AT_MOST)}…` : words
}

/** Fields that are plain values, or things with a name; ids and what follows by itself are left out. */
export function differences(before: unknown, after: unknown): string[] {
  if (!isRecord(after) || !isRecord(before)) return []
  return Object.keys(after)
    .filter((field) => !BESIDE.has(field) && !/Ids?$/.test(field) && field in before)
    .map((field) => [field, named(before[field]), named(after[field])] as const)
    .filter(([, was, is]) => isPlain(was) && isPlain(is) && was !== is)
    .map(([field, was, is]) => `${fieldWords(field)}: ${valueWords(was as Plain)} → ${valueWords(is as Plain)}`)
}
