/** Asks before something typed is lost: in the page for its links and the way back, by the browser where the whole page is left. */
import { type ReactNode, useEffect, useRef, useSyncExternalStore } from 'react'
import { heard } from '../client/heard.js'
import { waitedMs } from '../client/sent-once.js'
import { sayList } from '../ui/format.js'
import type { Leave } from './leaving.js'
import { watchTyped } from './typed.js'

const typed = watchTyped<HTMLFormElement>(() => waitedMs() !== null)
let lastField: HTMLElement | null = null

const OF_THE_PAGE = '#page form:not([data-keeps-nothing])'
const unsaved = (): HTMLFormElement[] => [...document.querySelectorAll<HTMLFormElement>(OF_THE_PAGE)].filter(typed.isUnsaved)
export const isSomethingTyped = (): boolean => unsaved().length > 0

/** What was about to be done when the question was asked. */
let waiting: (() => void) | null = null
const asked = new EventTarget()
const ask = (next: typeof waiting): void => {
  waiting = next
  asked.dispatchEvent(new Event('asked'))
}
const subscribe = (onAsked: () => void): (() => void) => {
  asked.addEventListener('asked', onAsked)
  return () => asked.removeEventListener('asked', onAsked)
}

export const leave: Leave = (go) => (isSomethingTyped() ? ask(go) : go())
/** What was typed here is nobody's any more. */
export const forgetTyped = (): void => unsaved().forEach(typed.forget)

function formAround({ target }: Event): HTMLFormElement | null {
  return target instanceof Element ? target.closest('form') : null
}
const come = (event: Event): void => {
  const form = formAround(event)
  if (form) typed.comeTo(form)
}
const type = (event: Event): void => {
  const form = formAround(event)
  if (!form) return
  typed.typedIn(form)
  lastField = event.target as HTMLElement
}
const press = (event: Event): void => {
  const button = event.target instanceof Element ? event.target.closest('button') : null
  if (button) typed.press(button.form)
}
const submit = (event: Event): void => typed.press(formAround(event))
const reset = (event: Event): void => {
  const form = formAround(event)
  if (form) typed.forget(form)
}
const LISTENED = { focusin: come, pointerdown: come, keydown: come, input: type, click: press, submit, reset }

function useListening(): void {
  useEffect(() => {
    const hold = (event: BeforeUnloadEvent): void => (isSomethingTyped() ? event.preventDefault() : undefined)
    for (const [name, hear] of Object.entries(LISTENED)) document.addEventListener(name, hear, true)
    addEventListener('beforeunload', hold)
    heard.addEventListener('saved', typed.saved)
    heard.addEventListener('refused', typed.refused)
    return () => {
      for (const [name, hear] of Object.entries(LISTENED)) document.removeEventListener(name, hear, true)
      removeEventListener('beforeunload', hold)
      heard.removeEventListener('saved', typed.saved)
      heard.removeEventListener('refused', typed.refused)
    }
  }, [])
}

function nameOf(form: HTMLFormElement): string {
  const named = form.getAttribute('aria-labelledby')
  const around = form.closest('details')?.querySelector('summary') ?? form.closest('section, main')?.querySelector('h2, h1')
  const words = form.getAttribute('aria-label') ?? ((named && document.getElementById(named)) || around)?.textContent ?? ''
  return `‘${words.trim().replace(/ ?…$/, '')}’`
}

/** Back to what was being typed, also where it was folded away since. */
function goOnTyping(): void {
  for (let around = lastField?.closest('details'); around; around = around.parentElement?.closest('details')) around.open = true
  lastField?.focus()
}

export function AskBeforeLeaving(): ReactNode {
  useListening()
  const go = useSyncExternalStore(subscribe, () => waiting)
  return go ? <Question go={go} /> : null
}

function Question({ go }: { go: () => void }): ReactNode {
  const dialog = useRef<HTMLDialogElement>(null)
  useEffect(() => {
    if (!dialog.current?.open) dialog.current?.showModal()
  }, [])
  const end = (): void => {
    dialog.current?.close()
    ask(null)
  }
  const stay = (): void => {
    end()
    goOnTyping()
  }
  return (
    <dialog
      ref={dialog}
      className="asks"
      aria-labelledby="not-saved"
      aria-describedby="what-is-lost"
      onCancel={(event) => {
        event.preventDefault()
        stay()
      }}
    >
      <h2 id="not-saved">Something typed is not saved</h2>
      <p id="what-is-lost">What you typed in {sayList(unsaved().map(nameOf))} is lost when you leave.</p>
      <div className="row">
        <button className="main" onClick={stay}>
          Stay here
        </button>
        <button
          onClick={() => {
            forgetTyped()
            end()
            go()
          }}
        >
          Leave without saving
        </button>
      </div>
    </dialog>
  )
}
