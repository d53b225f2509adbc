import { hash, verify } from '@node-rs/argon2'
import commonPasswords from 'fxa-common-password-list'

/** argon2id is the library's default. OWASP's smallest setting for argon2id: 19 MiB, two passes, one lane; about 0.1 s. */
const SETTINGS = { memoryCost: 19_456, timeCost: 2, parallelism: 1 }

/** Words of this product that a list of the world's passwords does not know. */
const OURS = /^tape ?warden[^a-z]*$/

/**
 * True for a million passwords that were seen in the open (from 8 signs on), for the product's own name, and for a few signs
 * repeated. Compared without regard to case.
 */
export function isCommonPassword(password: string): boolean {
  const plain = password.toLowerCase()
  return commonPasswords.test(password) || commonPasswords.test(plain) || OURS.test(plain) || new Set(password).size < 4
}

export function hashPassword(password: string): Promise<string> {
  return hash(password, SETTINGS)
}

let decoy: Promise<string> | undefined

/** Takes the same time for an unknown address as for a wrong password. */
export async function passwordFits(passwordHash: string | null, password: string): Promise<boolean> {
  decoy ??= hashPassword('a password that nobody has')
  const fits = await verify(passwordHash ?? (await decoy), password).catch(() => false)
  return passwordHash !== null && fits
}
