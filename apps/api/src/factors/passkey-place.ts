/** Where passkeys of this installation work: browsers bind them to the name in the address, and know no bare numbers there. */
export interface PasskeyPlace {
  /** The relying party's id (W3C Web Authentication). */
  host: string
  origin: string
}

const LOOPBACK = /^(127\.\d+\.\d+\.\d+|\[::1\])$/

/** On this computer alone the same pages are at localhost, which is a name. */
export function passkeyPlaceOf(publicUrl: string): PasskeyPlace {
  const url = new URL(publicUrl)
  if (LOOPBACK.test(url.hostname)) url.hostname = 'localhost'
  return { host: url.hostname, origin: url.origin }
}
