/** Which addresses may be asked: nothing inside the own network, however it is written, unless the operator named it. */
import { lookup } from 'node:dns/promises'
import ipaddr from 'ipaddr.js'

export interface CheckedAddress {
  url: URL
  /** The one that was checked; the connection goes there and nowhere else. */
  address: string
  family: 4 | 6
}

export class AddressRefusedError extends Error {}

/** Names and their addresses; replaced in tests. */
export type Resolve = (host: string) => Promise<readonly { address: string; family: number }[]>
export const resolveAll: Resolve = (host) => lookup(host, { all: true, verbatim: true })

/**
 * True for what anybody on the internet may reach. Private, loopback, link-local (where clouds answer about themselves), shared,
 * multicast, reserved and translated forms (IPv4 in IPv6, 6to4, NAT64, Teredo) are none of it.
 */
export function isPublic(address: string): boolean {
  if (!ipaddr.isValid(address)) return false
  const plain = ipaddr.process(address)
  if (plain.range() !== 'unicast') return false
  // RFC 4291, 2.4: of IPv6 only 2000::/3 is handed out; the old form of IPv4 in it (::7f00:1) would pass for unicast.
  return !(plain instanceof ipaddr.IPv6) || plain.match(ipaddr.IPv6.parse('2000::'), 3)
}

const bare = (host: string): string => host.replace(/^\[|\]$/g, '').replace(/\.$/, '')
const portOf = ({ port, protocol }: URL): string => port || (protocol === 'https:' ? '443' : '80')

/**
 * @param allowed  host:port of the own network, as the operator of the installation names them in WEBHOOK_ALLOWED_HOSTS
 * @throws AddressRefusedError with words for the page
 */
export async function checkAddress(text: string, allowed: ReadonlySet<string>, resolve: Resolve = resolveAll): Promise<CheckedAddress> {
  const url = new URL(text)
  const host = bare(url.hostname)
  const named = allowed.has(`${host}:${portOf(url)}`)
  if (!named && url.protocol !== 'https:') throw new AddressRefusedError('The address must begin with https.')
  const found = await resolve(host).catch(() => [])
  const [first] = found
  if (!first) throw new AddressRefusedError(`The name ${host} leads nowhere.`)
  // All of them: one inside among several outside is how a name is turned against whoever trusts it.
  if (!named && !found.every(({ address }) => isPublic(address)))
    throw new AddressRefusedError(
      `${host} lies inside a network. Only the operator of this installation can allow it (WEBHOOK_ALLOWED_HOSTS=${host}:${portOf(url)}).`,
    )
  return { url, address: first.address, family: first.family === 6 ? 6 : 4 }
}
