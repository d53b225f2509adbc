import type { RouteResult, Routes } from '@tapewarden/shared'

interface Town {
  name: string
  plain: string
  region: string
  country: string
  zone: string
  people: number
}
let towns: Promise<Town[]> | undefined
const MOST = 8
/** The list has English names; these are what people in German-speaking halls type. */
const ALSO: Readonly<Record<string, string>> = {
  munchen: 'munich',
  koln: 'cologne',
  nurnberg: 'nuremberg',
  wien: 'vienna',
  genf: 'geneva',
  prag: 'prague',
  warschau: 'warsaw',
  mailand: 'milan',
  rom: 'rome',
  brussel: 'brussels',
  antwerpen: 'antwerp',
  kopenhagen: 'copenhagen',
  lissabon: 'lisbon',
  bukarest: 'bucharest',
}

/** Two spellings of one name are one to the person who types it. */
const plainly = (text: string): string =>
  text
    .normalize('NFD')
    .replace(/\p{Mark}/gu, '')
    .toLowerCase()
    .trim()

/** Two megabytes that only the first warehouse asks for. */
async function readTowns(): Promise<Town[]> {
  const { default: towns } = await import('city-timezones')
  return towns.cityMapping.map(({ city, city_ascii: ascii, province, country, timezone, pop }) => ({
    name: city,
    plain: `${plainly(city)}|${plainly(ascii)}`,
    region: province ?? '',
    country,
    zone: timezone,
    people: pop,
  }))
}

/** @returns towns whose name begins as asked, then those that hold it, the larger first; 'Springfield, Illinois' narrows by region or country */
export async function listPlaces(search: string): Promise<RouteResult<Routes['listPlaces']>> {
  const [typed = '', ...within] = plainly(search).split(/\s*,\s*/)
  const name = ALSO[typed] ?? typed
  if (name.length < 2) return { items: [] }
  towns ??= readTowns()
  const fits = (await towns).filter(
    (town) => town.plain.includes(name) && within.every((part) => plainly(`${town.region} ${town.country}`).includes(part)),
  )
  const begins = ({ plain }: Town): number => (plain.startsWith(name) || plain.includes(`|${name}`) ? 0 : 1)
  return {
    items: fits
      .sort((a, b) => begins(a) - begins(b) || b.people - a.people)
      .slice(0, MOST)
      .map(({ name: town, region, country, zone }) => ({ name: town, region, country, zone })),
  }
}
