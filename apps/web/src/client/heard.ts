/** What an answer says of more than its own asking; whoever shows pages listens. 'saved' and 'refused' of each change. */
export const heard = new EventTarget()
export const tell = (what: 'signed-out' | 'came-before' | 'left' | 'saved' | 'refused'): void => void heard.dispatchEvent(new Event(what))
