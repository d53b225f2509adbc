/** Which forms of a page hold something typed that nobody has saved: what stands in a form is held against what stood there before. */

export interface FieldLike {
  type?: string
  value?: string
  checked?: boolean
}
export interface FormLike {
  elements: Iterable<object>
}
interface Begun {
  before: string
  touched: boolean
}

const NOT_TYPED = new Set(['submit', 'button', 'reset', 'fieldset', 'output'])
const held = (form: FormLike): string =>
  JSON.stringify(
    [...(form.elements as Iterable<FieldLike>)]
      .filter(({ type = '' }) => !NOT_TYPED.has(type))
      .map(({ type, value, checked }) => (type === 'checkbox' || type === 'radio' ? checked : value)),
  )

/** @param underWay whether something that was sent waits for its answer */
export function watchTyped<Form extends FormLike & object>(underWay: () => boolean) {
  const begun = new WeakMap<Form, Begun>()
  /** The form of which a button was pressed last, as it was then. */
  let pressed: { form: Form; sent: string; was: Begun } | null = null
  const isUnsaved = (form: Form): boolean => {
    const was = begun.get(form)
    if (!was?.touched) return false
    const now = held(form)
    return now !== was.before && !(underWay() && pressed?.form === form && pressed.sent === now)
  }
  return {
    isUnsaved,
    /** Somebody comes to it: lists in it may have been read since it was opened. */
    comeTo(form: Form): void {
      if (!begun.get(form)?.touched) begun.set(form, { before: held(form), touched: false })
    },
    typedIn(form: Form): void {
      begun.set(form, { before: begun.get(form)?.before ?? held(form), touched: true })
    },
    /** A button in it may put a line there or take one away, or send what stands in it. */
    press(form: Form | null): void {
      pressed = null
      if (!form) return
      const was = { before: begun.get(form)?.before ?? held(form), touched: true }
      begun.set(form, was)
      pressed = { form, sent: held(form), was }
    },
    /** What was sent is saved; what was typed while it was on its way is not. */
    saved(): void {
      if (!pressed) return
      const { form, sent } = pressed
      begun.set(form, { before: sent, touched: held(form) !== sent })
    },
    /** Of a form that is sent in two steps, the first may have come through. */
    refused(): void {
      if (pressed) begun.set(pressed.form, pressed.was)
    },
    forget(form: Form): void {
      begun.delete(form)
    },
  }
}
