/** Reads JSON so that what is wrong with a number can be said of its field. */

export type ReadJson = { value: unknown; notNumbers: boolean } | { problem: string }

const TEXT_OR_NOT_A_NUMBER = /"(?:[^"\\]|\\.)*"|-?\b(?:NaN|Infinity)\b/g

/**
 * JSON knows no NaN or infinity, but programs write them. They are read as texts, which every number field refuses by
 * name; `notNumbers` says that there were some, so that no field that takes texts lets one through.
 */
export function readJson(text: string): ReadJson {
  try {
    return { value: JSON.parse(text), notNumbers: false }
  } catch (error) {
    const replaced = text.replace(TEXT_OR_NOT_A_NUMBER, (found) => (found.startsWith('"') ? found : `"${found}"`))
    try {
      if (replaced !== text) return { value: JSON.parse(replaced), notNumbers: true }
    } catch {
      // the first problem is the one to tell
    }
    return { problem: (error as Error).message.replace(/\s+/g, ' ') }
  }
}
