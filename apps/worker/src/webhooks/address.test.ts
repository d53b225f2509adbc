import { describe, expect, it } from '@jest/globals'
import { checkAddress, isPublic } from './address.js'

const none: ReadonlySet<string> = new Set()
const at =
  (...addresses: string[]) =>
  async () =>
    addresses.map((address) => ({ address, family: address.includes(':') ? 6 : 4 }))

describe('an address is public', () => {
  it.each(['93.184.216.34', '8.8.8.8', '2606:2800:220:1::1', '2a00:1450:4001:801::200e'])('%s', (address) => {
    expect(isPublic(address)).toBe(true)
  })
  // Ranges of the IANA special-purpose registries for IPv4 and IPv6 (RFC 6890 and those it names).
  it.each([
    ['loopback', '127.0.0.1'],
    ['loopback, elsewhere in it', '127.8.9.1'],
    ['private', '10.0.0.7'],
    ['private', '172.31.255.255'],
    ['private', '192.168.1.1'],
    ['link-local, where clouds answer about themselves', '169.254.169.254'],
    ['shared (RFC 6598)', '100.64.0.1'],
    ['unspecified', '0.0.0.0'],
    ['broadcast', '255.255.255.255'],
    ['multicast', '224.0.0.1'],
    ['reserved', '240.0.0.1'],
    ['documentation', '192.0.2.1'],
    ['benchmarks', '198.18.0.1'],
    ['IPv6 loopback', '::1'],
    ['IPv6 unspecified', '::'],
    ['IPv6 unique local', 'fd00:ec2::254'],
    ['IPv6 link-local', 'fe80::1'],
    ['IPv6 multicast', 'ff02::1'],
    ['IPv4 in IPv6', '::ffff:127.0.0.1'],
    ['IPv4 in IPv6, in hex', '::ffff:a9fe:a9fe'],
    ['IPv4 in IPv6, the old way', '::7f00:1'],
    ['NAT64 of a private one', '64:ff9b::a00:7'],
    ['6to4 of a private one', '2002:a00:7::'],
    ['Teredo', '2001:0:a00:7::'],
    ['documentation', '2001:db8::1'],
    ['not an address', 'localhost'],
  ])('not: %s, %s', (_what, address) => {
    expect(isPublic(address)).toBe(false)
  })
})

describe('a webhook’s address', () => {
  it('is the one that was looked up, whatever its name leads to later', async () => {
    const checked = await checkAddress('https://hooks.example/in?x=1', none, at('93.184.216.34', '2606:2800:220:1::1'))
    expect(checked).toMatchObject({ address: '93.184.216.34', family: 4 })
  })
  it.each([
    ['a name that leads inside', 'https://hooks.example/', at('10.1.2.3'), 'lies inside a network'],
    ['a name that leads inside as well', 'https://hooks.example/', at('93.184.216.34', '127.0.0.1'), 'lies inside a network'],
    ['a name that leads nowhere', 'https://hooks.example/', at(), 'leads nowhere'],
    ['plain http', 'http://hooks.example/', at('93.184.216.34'), 'must begin with https'],
    ['the allowed host at another port', 'http://wms.local:9000/', at('10.1.2.3'), 'must begin with https'],
  ])('%s is refused', async (_what, url, resolve, words) => {
    await expect(checkAddress(url, new Set(['wms.local:8080']), resolve)).rejects.toThrow(words)
  })
  // WHATWG URL, host parsing: numbers of every form are IPv4 addresses.
  it.each([
    'https://2130706433/',
    'https://0x7f000001/',
    'https://0177.0.0.1/',
    'https://127.1/',
    'https://[::ffff:7f00:1]/',
    'https://localhost./',
  ])('%s is this computer, and refused', async (url) => {
    await expect(checkAddress(url, none)).rejects.toThrow('lies inside a network')
  })
  it('of the own network is taken where the operator named host and port', async () => {
    const checked = await checkAddress('http://wms.local:8080/in', new Set(['wms.local:8080']), at('10.1.2.3'))
    expect(checked.address).toBe('10.1.2.3')
  })
})
