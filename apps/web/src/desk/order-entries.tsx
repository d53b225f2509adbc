/** What was typed on site for one order, by whom and when; a conflict says which side counts. */
import type { ReactNode } from 'react'
import { Link } from 'react-router'
import type { Answer } from '../client/api.js'
import { sayInstant, sayWord } from '../ui/format.js'
import { sayEntry } from './entry-words.js'
import { useMe } from './me.js'

type Sheet = Answer<'getWorkOrder'>

export function Entries({ sheet, zone }: { sheet: Sheet; zone: string }): ReactNode {
  return (
    <section aria-labelledby="entries">
      <h2 id="entries">Entries</h2>
      {sheet.entries.length === 0 ? <p className="soft">Nothing was typed on site yet.</p> : null}
      <ul className="plain sentences small">
        {sheet.entries.map((entry) => (
          <One key={entry.id} entry={entry} sheet={sheet} zone={zone} />
        ))}
      </ul>
      <p className="soft small">A ticked caution shows that it was ticked, not that the work was without danger.</p>
    </section>
  )
}

function One({ entry, sheet, zone }: { entry: Sheet['entries'][number]; sheet: Sheet; zone: string }): ReactNode {
  const me = useMe()
  const { personName, madeAt, outcome, outcomeReason, settled } = entry
  const { said, words } = sayEntry(entry, sheet, me.person.units)
  return (
    <li>
      {sayInstant(madeAt, zone)}, {personName ?? 'someone not named'}: {said}
      {words ? (
        <>
          : <q>{words}</q>
        </>
      ) : null}
      {outcome === 'applied' ? '' : ` – ${sayWord(outcome)}${outcomeReason ? `: ${outcomeReason}` : ''}`}
      {settled ? ` Settled by ${settled.byName}: the ${settled.counts} counts.${settled.note ? ` ${settled.note}` : ''}` : ''}
      {outcome === 'conflict' && !settled ? <Link to="/conflicts"> Say which counts</Link> : null}
    </li>
  )
}
