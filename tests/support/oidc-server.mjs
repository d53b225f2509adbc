// A provider of OpenID Connect for tests: real, on this computer, a process of its own. Whoever signs in is who was last put to /who.
// Prints one line when it listens: {"issuer": "…"}. Ends with its standard input.
import { createServer } from 'node:http'
import { Provider } from 'oidc-provider'

let who = { sub: 'nobody', email: 'nobody@hall.example', email_verified: true }
const redirectUris = process.argv.slice(2)

const server = createServer((request, response) => handle(request, response))
await new Promise((done) => server.listen(0, '127.0.0.1', done))
const issuer = `http://127.0.0.1:${server.address().port}`
const provider = new Provider(issuer, {
  clients: [
    {
      client_id: 'tapewarden',
      client_secret: 'a secret for tests only, long enough',
      redirect_uris: redirectUris,
      grant_types: ['authorization_code'],
      response_types: ['code'],
    },
  ],
  pkce: { required: () => true },
  claims: { openid: ['sub'], email: ['email', 'email_verified'] },
  conformIdTokenClaims: false,
  features: { devInteractions: { enabled: false } },
  cookies: { keys: ['for tests only'] },
  interactions: { url: (_context, interaction) => `/enter/${interaction.uid}` },
  findAccount: (_context, sub) => ({ accountId: sub, claims: () => ({ ...known.get(sub), sub }) }),
  loadExistingGrant: async (context) => {
    const grant = new context.oidc.provider.Grant({ clientId: context.oidc.client.clientId, accountId: context.oidc.session.accountId })
    grant.addOIDCScope('openid email')
    await grant.save()
    return grant
  },
})
const known = new Map()
const callback = provider.callback()

function handle(request, response) {
  if (request.url === '/who') {
    let text = ''
    request.on('data', (piece) => (text += piece))
    request.on('end', () => {
      who = JSON.parse(text)
      response.end('{}')
    })
    return
  }
  if (request.url.startsWith('/enter/')) {
    known.set(who.sub, who)
    provider.interactionFinished(request, response, { login: { accountId: who.sub } }).catch((error) => {
      response.statusCode = 500
      response.end(String(error))
    })
    return
  }
  callback(request, response)
}

console.log(JSON.stringify({ issuer }))
process.stdin.resume().on('end', () => process.exit(0))
