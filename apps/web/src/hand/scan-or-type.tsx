/** A label by the camera, or its letters typed. */
import { type FormEvent, lazy, type ReactNode, Suspense, useState } from 'react'

const Camera = lazy(() => import('./camera.js'))

interface Given {
  /** What the button beside the typed code says. */
  verb: string
  /** Until something else has been said, nothing can be scanned. */
  waits?: boolean
  /** Several are scanned one after another: the camera closes after each, and the field is free and ready for the next. */
  goesOn?: boolean
  /** What could not be kept stays in the field. */
  onCode: (text: string) => Promise<void>
}

export function ScanOrType({ verb, waits = false, goesOn = false, onCode }: Given): ReactNode {
  const [code, setCode] = useState('')
  const [looking, setLooking] = useState(false)
  const give = async (text: string): Promise<void> => {
    if (goesOn) setLooking(false)
    await onCode(text)
    if (!goesOn) return
    setCode('')
    document.getElementById('code')?.focus()
  }
  return (
    <>
      {looking ? (
        <Suspense fallback={<div className="bone" />}>
          <Camera onScan={(text) => void give(text)} onClose={() => setLooking(false)} />
        </Suspense>
      ) : (
        <button type="button" className="main" disabled={waits} onClick={() => setLooking(true)}>
          Scan a label
        </button>
      )}
      <form
        onSubmit={(event: FormEvent) => {
          event.preventDefault()
          if (code.trim() !== '' && !waits) void give(code)
        }}
      >
        <label htmlFor="code">Or type its code</label>
        <div className="beside">
          <input
            id="code"
            value={code}
            onChange={(event) => setCode(event.target.value)}
            autoComplete="off"
            autoCapitalize="characters"
            spellCheck={false}
            enterKeyHint={goesOn ? 'next' : 'go'}
          />
          <button disabled={code.trim() === '' || waits}>{verb}</button>
        </div>
      </form>
    </>
  )
}
