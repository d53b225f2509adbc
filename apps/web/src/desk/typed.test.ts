import { beforeEach, describe, expect, it } from '@jest/globals'
import { type FieldLike, watchTyped } from './typed.js'

let waits = false
let typed: ReturnType<typeof watchTyped<{ elements: FieldLike[] }>>
beforeEach(() => {
  waits = false
  typed = watchTyped(() => waits)
})
const formOf = (...elements: FieldLike[]) => ({ elements })
const field = (value = ''): FieldLike => ({ type: 'text', value })
const type = (form: { elements: FieldLike[] }, value: string): void => {
  typed.comeTo(form)
  form.elements[0] = field(value)
  typed.typedIn(form)
}

describe('a form', () => {
  it('of which nothing was changed, or was changed back, holds nothing unsaved', () => {
    const form = formOf(field('Hall North'))
    expect(typed.isUnsaved(form)).toBe(false)
    type(form, 'Hall South')
    expect(typed.isUnsaved(form)).toBe(true)
    type(form, 'Hall North')
    expect(typed.isUnsaved(form)).toBe(false)
  })

  it('whose list of choices came later holds nothing unsaved', () => {
    const form = formOf(field(), { type: 'select-one', value: '' })
    typed.comeTo(form)
    form.elements[1] = { type: 'select-one', value: 'the first' }
    typed.comeTo(form)
    type(form, '')
    expect(typed.isUnsaved(form)).toBe(false)
  })

  it('holds a tick and a line that a button put there', () => {
    const tick = { type: 'checkbox', value: 'on', checked: false }
    const ticked = formOf(tick)
    typed.comeTo(ticked)
    tick.checked = true
    typed.typedIn(ticked)
    expect(typed.isUnsaved(ticked)).toBe(true)
    const lines = formOf({ type: 'button', value: 'Add a line' })
    typed.comeTo(lines)
    typed.press(lines)
    expect(typed.isUnsaved(lines)).toBe(false)
    lines.elements.push(field())
    expect(typed.isUnsaved(lines)).toBe(true)
  })

  it('that was sent holds nothing unsaved while it is under way and when it is saved', () => {
    const form = formOf(field())
    type(form, 'oil')
    typed.press(form)
    waits = true
    expect(typed.isUnsaved(form)).toBe(false)
    waits = false
    typed.saved()
    expect(typed.isUnsaved(form)).toBe(false)
    form.elements[0] = field('')
    typed.comeTo(form)
    expect(typed.isUnsaved(form)).toBe(false)
  })

  it('holds what was typed while it was on its way', () => {
    const form = formOf(field())
    type(form, 'oil')
    typed.press(form)
    waits = true
    type(form, 'oil, twice')
    expect(typed.isUnsaved(form)).toBe(true)
    waits = false
    typed.saved()
    expect(typed.isUnsaved(form)).toBe(true)
  })

  it('that was refused, also in its second step, holds all of it still', () => {
    const form = formOf(field())
    type(form, 'oil')
    typed.press(form)
    typed.saved()
    typed.refused()
    expect(typed.isUnsaved(form)).toBe(true)
  })

  it('is not saved by a button elsewhere, and not by showing what it would do', () => {
    const form = formOf(field())
    type(form, 'oil')
    typed.press(form)
    typed.press(null)
    typed.saved()
    expect(typed.isUnsaved(form)).toBe(true)
  })

  it('that was emptied by its page begins anew', () => {
    const form = formOf(field())
    type(form, 'oil')
    typed.forget(form)
    form.elements[0] = field()
    expect(typed.isUnsaved(form)).toBe(false)
  })
})
