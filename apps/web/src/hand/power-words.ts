/** What is said of the source of power on a sheet: never of a plug that the machine has not. */
import type { HandSheet } from './overlay.js'

interface PowerWords {
  beforeGoingOn: string
  goOn: string
  cord: string
  last: string
}

const WORDS: Record<HandSheet['machine']['supply'], PowerWords> = {
  cord_and_plug: {
    beforeGoingOn: 'is the plug still out, and who holds it?',
    goOn: 'Go on: the plug is with me',
    cord: 'I looked at cord and plug',
    last: 'Covers on, then the plug.',
  },
  wired_in: {
    beforeGoingOn: 'is it still off at its isolator, and who holds the lock?',
    goOn: 'Go on: it is off, and I know who holds the lock',
    cord: 'I looked at cable and clamp',
    last: 'Covers on, then the lock comes off.',
  },
  none: {
    beforeGoingOn: 'is the lever at rest, and is nobody else at the machine?',
    goOn: 'Go on: the lever is at rest',
    cord: '',
    last: 'Covers on, then hand it back.',
  },
}

export const powerWords = ({ machine }: HandSheet): PowerWords => WORDS[machine.supply]
