import type { RouteResult, Routes } from '@tapewarden/shared'
import { plainly, townCalled, unspelt } from './town-names.js'

interface Town {
  name: string
  /** All its spellings. */
  plain: readonly string[]
  region: string
  country: string
  /** ISO 3166-1, two letters. */
  countryCode: string
  zone: string
  people: number
}
type Found = RouteResult<Routes['listPlaces']>['items'][number]
let towns: Promise<Town[]> | undefined
const MOST = 8

/** Two megabytes that only the first warehouse asks for. */
async function readTowns(): Promise<Town[]> {
  const { default: known } = await import('city-timezones')
  return known.cityMapping
    .map(({ city, city_ascii: ascii, province, country, iso2, timezone, pop }) => ({
      name: city,
      plain: [plainly(city), plainly(ascii)],
      region: province ?? '',
      country,
      countryCode: iso2,
      zone: timezone,
      people: pop,
    }))
    .sort((a, b) => b.people - a.people)
}

const liesIn = ({ region, country, countryCode }: Town, part: string): boolean =>
  plainly(`${region} ${country}`).includes(part) || countryCalled(countryCode, part) !== undefined

/** Towns whose name begins so, then those that hold it; the larger first. */
function townsLike(all: readonly Town[], name: string, within: readonly string[], called: string | null): Found[] {
  const begins = ({ plain }: Town): number => (plain.some((one) => one.startsWith(name)) ? 0 : 1)
  return all
    .filter((town) => town.plain.some((one) => one.includes(name)) && within.every((part) => liesIn(town, part)))
    .sort((a, b) => begins(a) - begins(b))
    .slice(0, MOST)
    .map(({ name: town, plain, region, country, zone }) => {
      const asked = plain.includes(name)
      return { name: asked && called !== null ? called : town, region, country, zone, asked }
    })
}

/** The languages of the packers' page; Node.js knows the countries' names in them. */
const LANGUAGES = ['en', 'de', 'fr', 'es', 'it', 'nl', 'pl', 'pt']
const FEWEST_LETTERS = 3

/** A country stands for each of its zones, with the largest town that keeps it. */
function countriesLike(all: readonly Town[], name: string): Found[] {
  if (name.length < FEWEST_LETTERS) return []
  const zones = new Map<string, Town>()
  for (const town of all) if (!zones.has(`${town.countryCode} ${town.zone}`)) zones.set(`${town.countryCode} ${town.zone}`, town)
  const called = new Map([...new Set(all.map(({ countryCode }) => countryCode))].map((code) => [code, countryCalled(code, name)]))
  return [...zones.values()].flatMap((town) => {
    const country = called.get(town.countryCode)
    if (country === undefined) return []
    const asked = plainly(country) === name && [...zones.keys()].filter((key) => key.startsWith(`${town.countryCode} `)).length === 1
    return [{ name: country, region: town.name, country: town.country, zone: town.zone, asked }]
  })
}

const NAMES = LANGUAGES.map((language) => new Intl.DisplayNames(language, { type: 'region', fallback: 'none' }))
const countryCalled = (code: string, name: string): string | undefined =>
  /^[A-Z]{2}$/.test(code)
    ? NAMES.map((names) => names.of(code)).find((one) => one !== undefined && plainly(one).startsWith(name))
    : undefined

/** @returns towns, in whatever language they are named, then what a country's name stands for; 'Springfield, Illinois' narrows by region or country */
export async function listPlaces(search: string): Promise<RouteResult<Routes['listPlaces']>> {
  const [typed = '', ...within] = plainly(search).split(/\s*,\s*/)
  if (typed.length < 2) return { items: [] }
  const other = townCalled(typed)
  towns ??= readTowns()
  const all = await towns
  const named = townsLike(all, other?.town ?? typed, within, other?.name ?? null)
  const found = named.length > 0 ? named : townsLike(all, unspelt(typed), within, null)
  return { items: [...found, ...(within.length > 0 ? [] : countriesLike(all, typed))].slice(0, MOST) }
}
