/** Parts taken out of stock for this order, and those that may be. */
import type { ReactNode } from 'react'
import { type HandSheet, type HandTask, partsToBook } from './overlay.js'
import type { Enter } from './sheet.js'

/** @param tasks of which a part must be booked; left out: those that are done */
export function PartsUsed({ sheet, tasks, enter }: { sheet: HandSheet; tasks?: readonly HandTask[]; enter: Enter }): ReactNode {
  const toBook = partsToBook(sheet, tasks)
  const others = sheet.partsThatFit.filter((part) => !toBook.includes(part))
  return (
    <div className="stack">
      {sheet.partsUsed.map(({ partName, quantity }, index) => (
        <p key={`${partName}${index}`}>
          Used: {quantity} × {partName}
        </p>
      ))}
      {toBook.length > 0 ? <p>Which one went in? It comes off the stock here.</p> : null}
      {toBook.map((part) => (
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
    <button onClick={() => void enter({ kind: 'use_part', partId, quantity: 1 })}>
      Take one: {name} ({onHand} on hand)
    </button>
  )
}
