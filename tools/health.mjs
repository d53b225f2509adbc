// Exits 0 where the address answers 200: the health check of a container that has no curl.
const answer = await fetch(process.argv[2], { signal: AbortSignal.timeout(4000) }).catch(() => null)
process.exit(answer?.ok ? 0 : 1)
