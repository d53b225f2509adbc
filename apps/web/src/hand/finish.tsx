/** The end of a sheet: what is still missing, the minutes, and a name under this work only. */
import { type ReactNode, useState } from 'react'
import { serverMs } from '../client/clock.js'
import { type HandSheet, partsOfWork, partsToBook } from './overlay.js'
import { PartsUsed } from './parts-used.js'
import { powerWords } from './power-words.js'
import type { Enter } from './sheet.js'
import { minutesWorked } from './work-clock.js'

export function Finish({
  sheet,
  waiting,
  enter,
  onCheckAgain,
}: {
  sheet: HandSheet
  waiting: number
  enter: Enter
  /** null: no function check belongs to this work. */
  onCheckAgain: (() => void) | null
}): ReactNode {
  const [byClock] = useState(() => minutesWorked(sheet.entries ?? [], serverMs()))
  const [minutes, setMinutes] = useState(byClock === null ? '' : String(byClock))
  const [note, setNote] = useState('')
  const toBook = partsToBook(sheet)
  const isWhole = /^\d{1,4}$/.test(minutes.trim())
  const right = isWhole && toBook.length === 0
  // What the server asks for is only of use while nothing typed here is still on its way to it.
  const missing = waiting === 0 ? sheet.missing.filter(({ code }) => !code.startsWith('MINUTES')) : []
  return (
    <section className="part" aria-label="Finish">
      <h2>Finish</h2>
      {missing.length > 0 ? (
        <ul className="note">
          {missing.map(({ code, text }) => (
            <li key={`${code}${text}`}>{text}</li>
          ))}
        </ul>
      ) : null}
      {partsOfWork(sheet).length > 0 || sheet.partsUsed.length > 0 ? <PartsUsed sheet={sheet} enter={enter} /> : null}
      {onCheckAgain && !sheet.taggedOut ? <button onClick={onCheckAgain}>Repeat the function check</button> : null}
      <form
        onSubmit={(event) => {
          event.preventDefault()
          if (right) void enter({ kind: 'finish', minutesWorked: Number(minutes), note: note.trim() })
        }}
      >
        <label htmlFor="minutes">
          Minutes it took{byClock === null ? '' : `, by the clock ${byClock}`}; planned were {Math.round(sheet.minutesPlanned)}
        </label>
        <input
          id="minutes"
          inputMode="numeric"
          value={minutes}
          onChange={(event) => setMinutes(event.target.value)}
          autoComplete="off"
          aria-describedby="minutes-say"
        />
        <div id="minutes-say" role="status">
          {minutes.trim() !== '' && !isWhole ? <p className="note alarmed">Minutes are a whole number, such as 25.</p> : null}
        </div>
        <label htmlFor="note">Anything the next one should know</label>
        <textarea id="note" value={note} maxLength={4000} onChange={(event) => setNote(event.target.value)} />
        <p className="soft small">
          Your name stands under this work only.{' '}
          {sheet.taggedOut ? 'The tag stays on the machine; it is not handed back.' : powerWords(sheet).last}
        </p>
        <button className="main" disabled={!right}>
          {sheet.taggedOut ? 'Finish; the tag stays' : 'Finish and hand back'}
        </button>
      </form>
    </section>
  )
}
