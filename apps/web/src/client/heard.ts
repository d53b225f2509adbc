/** What an answer says of more than its own asking; whoever shows pages listens. 'signed-out', 'came-before', 'left'. */
export const heard = new EventTarget()
export const tell = (what: 'signed-out' | 'came-before' | 'left'): void => void heard.dispatchEvent(new Event(what))
