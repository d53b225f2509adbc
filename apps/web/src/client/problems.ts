/** What can go wrong with an asking; apart from the client, whose table of routes is most of a first load on a phone. */

/** What went wrong, in words for the screen. */
export class ApiProblem extends Error {
  constructor(
    readonly status: number,
    readonly code: string,
    detail: string,
    readonly errors: readonly { pointer: string; message: string }[],
  ) {
    super(detail)
  }
}

/** What happened here and not at the server, said so that it can stand on the screen as it is. */
export class InWords extends Error {}

/** No answer at all: the network, or the server, is away. */
export class Unreachable extends InWords {
  constructor(words = 'The server cannot be reached. What you typed is still here; try again when the network is back.') {
    super(words)
  }
}

/** It was reached, maybe, and says nothing. */
export class NoAnswer extends Unreachable {
  constructor() {
    super('The server does not answer. What you typed is still here; try again in a moment.')
  }
}
