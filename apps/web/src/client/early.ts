/** Answers that public/early.js asked for while the script was on its way. */
const EARLY_MS = 20_000

/** Good for once, and only soon after the page was opened; null: ask anew. */
export async function takeEarly(path: string): Promise<Response | null> {
  const asked = (globalThis as { tapewardenEarly?: Map<string, Promise<Response | null>> }).tapewardenEarly
  const found = asked?.get(path)
  asked?.delete(path)
  const answer = performance.now() < EARLY_MS ? await found : null
  return answer?.ok ? answer : null
}
