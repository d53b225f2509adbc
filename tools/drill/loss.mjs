// Losing an installation as a machine is lost: every process at once, without a word.
import { readdirSync, readFileSync } from 'node:fs'

/** All that this process started, and what those started. */
function descendants() {
  const parentOf = new Map()
  for (const name of readdirSync('/proc')) {
    if (!/^\d+$/.test(name)) continue
    try {
      // The name of the program stands in brackets and may hold spaces.
      const stat = readFileSync(`/proc/${name}/stat`, 'utf8')
      parentOf.set(Number(name), Number(stat.slice(stat.lastIndexOf(')') + 2).split(' ')[1]))
    } catch {
      // ended meanwhile
    }
  }
  const ours = new Set([process.pid])
  for (let before = 0; before !== ours.size;) {
    before = ours.size
    for (const [pid, parent] of parentOf) if (ours.has(parent)) ours.add(pid)
  }
  ours.delete(process.pid)
  return [...ours]
}

/** Those of `kept` are other people's. @returns once none of them is there any more */
export async function killAll(kept) {
  for (let left = descendants().filter((pid) => !kept.has(pid)); left.length > 0; left = descendants().filter((pid) => !kept.has(pid))) {
    for (const pid of left) {
      try {
        process.kill(pid, 'SIGKILL')
      } catch {
        // gone by itself
      }
    }
    await new Promise((later) => setTimeout(later, 20))
  }
}

export const bystanders = () => new Set(descendants())
