/** What an answer says of more than its own asking; whoever shows pages listens. 'signed-out', 'came-before'. */
export const heard = new EventTarget()
export const tell = (what: 'signed-out' | 'came-before'): void => void heard.dispatchEvent(new Event(what))
