// Runs in the page: what a careful person would see, said in words. Put there by looks.ts.
globalThis.looks ??= (() => {
  const CONTROLS = 'a[href], button, input:not([type=hidden]), select, textarea, summary'
  const hidden = (one) => one.closest('.seen-by-readers, .unseen, .skip') !== null
  const shown = (one) => one.checkVisibility({ visibilityProperty: true, opacityProperty: true }) && !hidden(one)
  const named = (one) => {
    const words = (one.textContent || one.value || one.getAttribute('aria-label') || one.id || '').trim().replaceAll(/\s+/g, ' ')
    return `${one.tagName.toLowerCase()}${one.classList.length > 0 ? `.${[...one.classList].join('.')}` : ''} ‘${words.slice(0, 50)}’`
  }
  const few = (list) => [...new Set(list)].slice(0, 8)

  /** Is this piece of text out of reach: beyond the window, or cut by a box around it that cannot be scrolled? */
  function cutBy(element, rect) {
    for (let box = element; box && box !== document.documentElement; box = box.parentElement) {
      const style = getComputedStyle(box)
      if (style.clipPath !== 'none' || style.position === 'fixed') return null
      if (style.overflowX === 'auto' || style.overflowX === 'scroll') return null
      const edge = box.getBoundingClientRect()
      if (style.overflowX !== 'visible' && (rect.right > edge.right + 1 || rect.left < edge.left - 1)) return named(box)
      if (box.matches('button, .button, td, th, .note, summary') && style.display !== 'inline' && rect.right > edge.right + 1)
        return `the edge of ${named(box)}`
    }
    return rect.right > document.documentElement.clientWidth + 1 || rect.left < -1 ? 'the window' : null
  }

  function textCut() {
    const found = []
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT)
    const range = document.createRange()
    for (let node = walker.nextNode(); node; node = walker.nextNode()) {
      const element = node.parentElement
      if (node.data.trim() === '' || element.closest('svg, script, style, option, datalist') || !shown(element)) continue
      range.selectNodeContents(node)
      for (const rect of range.getClientRects()) {
        const by = rect.width > 0 ? cutBy(element, rect) : null
        if (by) found.push(`‘${node.data.trim().slice(0, 40)}’ cut by ${by}`)
      }
    }
    return found
  }

  const pen = document.createElement('canvas').getContext('2d')
  function wordsOf(field) {
    if (field.tagName === 'SELECT') return field.selectedOptions[0]?.textContent ?? ''
    return field.value === '' ? field.placeholder : ''
  }
  const ARROW_PX = 22
  const ENOUGH_PX = 144
  /** A list shows its choice, a field its example. */
  function fieldsCut() {
    return [...document.querySelectorAll('select, input[placeholder]')].filter(shown).flatMap((field) => {
      const style = getComputedStyle(field)
      pen.font = style.font
      const room = field.clientWidth - Number.parseFloat(style.paddingLeft) - Number.parseFloat(style.paddingRight)
      const words = wordsOf(field)
      const list = field.tagName === 'SELECT'
      // A long choice ends in dots, and stands whole once the list is open; but enough of it is read to know which it is.
      const enough = list ? Math.min(pen.measureText(words).width, ENOUGH_PX - ARROW_PX) : pen.measureText(words).width
      return enough > room - (list ? ARROW_PX : 0) + 1 ? [`${field.tagName.toLowerCase()} shows ‘${words}’ in part`] : []
    })
  }

  /** Letters in pictures: within the picture, and none over another. */
  function picturesCut() {
    return [...document.querySelectorAll('svg')].filter(shown).flatMap((svg) => {
      const edge = svg.getBoundingClientRect()
      const texts = [...svg.querySelectorAll('text')]
        .map((text) => [text, text.getBoundingClientRect()])
        .filter(([, rect]) => rect.width > 0)
      return texts.flatMap(([text, rect], index) => {
        const words = text.textContent
        const over = texts
          .slice(index + 1)
          .find(
            ([, other]) =>
              Math.min(rect.right, other.right) - Math.max(rect.left, other.left) > 2 &&
              Math.min(rect.bottom, other.bottom) - Math.max(rect.top, other.top) > 3,
          )
        return [
          ...(rect.right > edge.right + 2 || rect.left < edge.left - 2 ? [`‘${words}’ cut by its picture`] : []),
          ...(over ? [`‘${words}’ over ‘${over[0].textContent}’ in a picture`] : []),
          ...(rect.height < 9 ? [`‘${words}’ ${rect.height.toFixed(0)} px high in a picture`] : []),
        ]
      })
    })
  }

  function sideways() {
    const page = document.documentElement
    return page.scrollWidth - page.clientWidth > 1 ? [`the page scrolls sideways: ${page.scrollWidth} of ${page.clientWidth}`] : []
  }

  const differs = (one, other) =>
    ['fontWeight', 'textDecorationLine', 'borderTopWidth', 'borderLeftColor'].some((what) => one[what] !== other[what])

  /** With forced colours: what can be pressed or typed into has an edge, a line or a colour of its own. */
  function forced() {
    const bare = [...document.querySelectorAll(CONTROLS)].filter(shown).filter((one) => {
      const style = getComputedStyle(one)
      const own = style.appearance !== 'none' && one.matches('[type=checkbox], [type=radio], [type=file]')
      const edged =
        Number.parseFloat(style.borderTopWidth) >= 1 &&
        style.borderTopStyle !== 'none' &&
        style.borderTopColor !== getComputedStyle(document.body).backgroundColor
      const coloured = style.color !== getComputedStyle(one.parentElement).color
      const lined = style.textDecorationLine.includes('underline') || one.querySelector('strong') !== null
      return !(own || edged || lined || (one.tagName === 'A' && coloured) || one.tagName === 'SUMMARY')
    })
    const alike = [...document.querySelectorAll('[aria-current], [aria-selected=true], [aria-pressed=true]')]
      .filter(shown)
      .filter((one) => {
        const other = [...one.parentElement.children].find((next) => next !== one && next.tagName === one.tagName && shown(next))
        return other && !differs(getComputedStyle(one), getComputedStyle(other))
      })
    return [...bare.map((one) => `bare ${named(one)}`), ...alike.map((one) => `chosen by its background alone: ${named(one)}`)]
  }

  const moving = () =>
    document
      .getAnimations()
      .filter((one) => one.effect.getComputedTiming().endTime > 100)
      .map((one) => `moves: ${named(one.effect.target)}`)

  /** One of a group of round boxes takes the Tab for all. */
  function tabbable() {
    const groups = new Set()
    return [...document.querySelectorAll(`${CONTROLS}, [tabindex]`)].filter((one) => {
      if (one.tabIndex < 0 || one.disabled || one.closest('[inert]') || !one.checkVisibility({ visibilityProperty: true })) return false
      if (one.tagName === 'SUMMARY' && one.parentElement.querySelector('summary') !== one) return false
      if (one.type !== 'radio') return true
      if (groups.has(one.name)) return false
      groups.add(one.name)
      return true
    })
  }
  const groupOf = (one) => (one.type === 'radio' ? `radio ${one.name}` : one)

  function focusFault(one) {
    const ring = getComputedStyle(one.matches('.unseen') ? one.nextElementSibling : one)
    if (ring.outlineStyle === 'none' || Number.parseFloat(ring.outlineWidth) < 2) return 'no ring'
    const rect = (one.matches('.unseen') ? one.nextElementSibling : one).getClientRects()[0] ?? one.getBoundingClientRect()
    const [x, y] = [
      (Math.max(rect.left, 0) + Math.min(rect.right, innerWidth)) / 2,
      (Math.max(rect.top, 0) + Math.min(rect.bottom, innerHeight)) / 2,
    ]
    if (rect.bottom < 1 || rect.top > innerHeight - 1 || rect.right < 1 || rect.left > innerWidth - 1) return 'outside the window'
    const top = document.elementFromPoint(x, y)
    const same =
      top === null || one.contains(top) || top.contains(one) || top.closest('label')?.htmlFor === one.id || one.matches('.unseen')
    return same ? null : `behind ${named(top)}`
  }

  let walked = new Set()
  let met = []
  function onKey({ key }) {
    const one = document.activeElement
    if (key !== 'Tab' || !one || one === document.body) return
    walked.add(groupOf(one))
    const fault = focusFault(one)
    if (fault) met.push(`focus ${fault}: ${named(one)}`)
  }
  /** @returns how many presses a walk through the page takes at most */
  function beginWalk() {
    walked = new Set()
    met = []
    document.activeElement?.blur()
    getSelection()?.collapse(document.body, 0)
    removeEventListener('keyup', onKey, true)
    addEventListener('keyup', onKey, true)
    const all = tabbable()
    // A field for a date takes a Tab for each of its parts.
    return (
      all.length +
      4 * all.filter(({ type }) => type === 'date' || type === 'time' || type === 'datetime-local' || type === 'month').length +
      3
    )
  }
  const leftOver = () => tabbable().filter((one) => !walked.has(groupOf(one)))
  /** @param whole also what was not reached */
  function endWalk(whole) {
    removeEventListener('keyup', onKey, true)
    const ordered = [...document.querySelectorAll('[tabindex]')]
      .filter((one) => one.tabIndex > 0)
      .map((one) => `tabindex above 0: ${named(one)}`)
    return few([...ordered, ...met, ...(whole ? leftOver().map((one) => `Tab does not reach ${named(one)}`) : [])])
  }

  const waiting = () => document.querySelector('.bone, [aria-busy=true]') !== null || document.body.innerText.trim() === ''
  function unfold() {
    const shut = [...document.querySelectorAll('main details:not([open])')]
    for (const one of shut) one.open = true
    return shut.length
  }
  return {
    cut: () => few([...sideways(), ...textCut(), ...fieldsCut(), ...picturesCut()]),
    forced: () => few(forced()),
    moving: () => few(moving()),
    beginWalk,
    endWalk,
    waiting,
    unfold,
    words: () => (document.querySelector('main') ?? document.body).innerText.trim(),
  }
})()
