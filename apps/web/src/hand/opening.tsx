/** Before anything is known of who works here. The same stands in hand.html, so that it is there before any script is. */
import type { ReactNode } from 'react'

export function Opening(): ReactNode {
  return (
    <main className="hand" aria-busy="true">
      <div className="kept">Opening …</div>
      <p className="soft">
        Your visits, orders and rounds come next. What was typed on this phone stays on it until the server has answered.
      </p>
    </main>
  )
}
