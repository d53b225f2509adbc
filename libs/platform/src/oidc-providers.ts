import { z } from 'zod'

const LOOPBACK = /^(localhost|127\.\d+\.\d+\.\d+|\[::1\])$/

function isIssuer(text: string): boolean {
  if (!URL.canParse(text)) return false
  const { protocol, hostname, search, hash } = new URL(text)
  return search === '' && hash === '' && (protocol === 'https:' || (protocol === 'http:' && LOOPBACK.test(hostname)))
}

const providerSchema = z.strictObject({
  /** In the address of its sign-in. */
  key: z.string().regex(/^[a-z0-9-]{1,60}$/),
  /** As the button on the sign-in page says it. */
  name: z.string().min(1).max(60),
  organisationId: z.uuid(),
  /** https, but on this computer. */
  issuer: z.string().refine(isIssuer),
  clientId: z.string().min(1),
  clientSecret: z.string().min(1),
})
export type OidcProvider = Readonly<z.infer<typeof providerSchema>>

/** Says which entry and which of its fields is wrong, never a value. */
export function readOidcProviders(text: string, context: z.RefinementCtx): readonly OidcProvider[] {
  const refuse = (message: string): never => {
    context.addIssue({ code: 'custom', message })
    return z.NEVER
  }
  let list: unknown
  try {
    list = JSON.parse(text)
  } catch {
    return refuse('must be a JSON list')
  }
  const parsed = z.array(providerSchema).safeParse(list)
  if (!parsed.success) {
    const places = [...new Set(parsed.error.issues.map(({ path }) => path.join('.') || 'the list itself'))]
    return refuse(`is not right at ${places.slice(0, 5).join(', ')}`)
  }
  if (new Set(parsed.data.map(({ key }) => key)).size !== parsed.data.length) return refuse('holds a key twice')
  return parsed.data
}
