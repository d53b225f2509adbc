/** Parts taken out of stock for this order, and those that may be. */
import type { ReactNode } from 'react'
import { type HandSheet, type HandTask, partsOfWork, partsTaken, partsToBook } from './overlay.js'
import type { Enter } from './sheet.js'

const BOOKS_HAVE_NONE =
  'The books have none here. If one lay on the shelf all the same and went in, take it below; the desk is asked to count the shelf.'

/** @param tasks of which a part must be booked; left out: those that are done */
export function PartsUsed({ sheet, tasks, enter }: { sheet: HandSheet; tasks?: readonly HandTask[]; enter: Enter }): ReactNode {
  const ofWork = partsOfWork(sheet, tasks)
  const mustBook = partsToBook(sheet, tasks).length > 0
  const others = sheet.partsThatFit.filter((part) => !ofWork.includes(part))
  return (
    <div className="stack">
      {partsTaken(sheet).map(({ partId, partName, quantity }) => (
        <div key={partId} className="beside">
          <span>
            Used: {quantity} × {partName}
          </span>
          <button aria-label={`Put one back: ${partName}`} onClick={() => void enter({ kind: 'put_back_part', partId, quantity: 1 })}>
            Put one back
          </button>
        </div>
      ))}
      {ofWork.length > 0 ? <p>{mustBook ? 'Which one went in? It comes off the stock here.' : BOOKS_HAVE_NONE}</p> : null}
      {ofWork.map((part) => (
        <Take key={part.partId} part={part} enter={enter} />
      ))}
      {others.length > 0 ? (
        <details>
          <summary>Another part was used…</summary>
          <div className="stack">
            {others.map((part) => (
              <Take key={part.partId} part={part} enter={enter} />
            ))}
          </div>
        </details>
      ) : null}
      {sheet.partsThatFit.length === 0 && sheet.partsUsed.length === 0 ? (
        <p className="soft small">No part that fits is kept in stock here.</p>
      ) : null}
    </div>
  )
}

function Take({ part: { partId, name, onHand }, enter }: { part: HandSheet['partsThatFit'][number]; enter: Enter }): ReactNode {
  return (
    <button onClick={() => void enter({ kind: 'use_part', partId, quantity: 1, inHand: true })}>
      Take one: {name} ({onHand === 0 ? 'none in the books' : `${onHand} on hand`})
    </button>
  )
}
