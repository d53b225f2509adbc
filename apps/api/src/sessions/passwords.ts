import { hash, verify } from '@node-rs/argon2'

/** argon2id is the library's default. OWASP's smallest setting for argon2id: 19 MiB, two passes, one lane; about 0.1 s. */
const SETTINGS = { memoryCost: 19_456, timeCost: 2, parallelism: 1 }

/** People who were seen to choose them; compared without regard to case. */
const COMMON = new Set([
  '1234567890',
  '0123456789',
  'password123',
  'password1234',
  'qwertyuiop',
  'qwerty12345',
  'iloveyou123',
  'letmein1234',
  'welcome123',
  'welcome1234',
  'administrator',
  'admin12345',
  'changeme123',
  'tapewarden',
  'tapewarden1',
  'tapewarden123',
  'passw0rd123',
  '1q2w3e4r5t',
  'abcdefghij',
  'abc1234567',
  'sunshine123',
  'football123',
  'monkey12345',
  'dragon12345',
  'master12345',
  'superman123',
  'trustno1trustno1',
  '1111111111',
  '0000000000',
  'qwerty123456',
])

export function isCommonPassword(password: string): boolean {
  return COMMON.has(password.toLowerCase()) || new Set(password).size < 4
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
