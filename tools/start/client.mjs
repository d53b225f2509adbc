// A small client of the api for the smoke run and the system tests: a cookie, JSON, and problems said in words.
import { randomUUID } from 'node:crypto'

export class ApiClient {
  #cookie = ''

  constructor(baseUrl) {
    this.baseUrl = baseUrl
  }

  /** @returns {status, body}; never throws for an answer that is a problem. */
  async ask(method, path, body, headers = {}) {
    const answer = await fetch(this.baseUrl + path, {
      method,
      headers: {
        accept: 'application/json',
        ...(body === undefined ? {} : { 'content-type': 'application/json' }),
        ...(this.#cookie ? { cookie: this.#cookie } : {}),
        origin: this.baseUrl,
        'x-tapewarden': '1',
        ...headers,
      },
      body: body === undefined ? undefined : JSON.stringify(body),
      signal: AbortSignal.timeout(30_000),
    })
    for (const cookie of answer.headers.getSetCookie()) this.#cookie = cookie.split(';')[0]
    const text = await answer.text()
    return {
      status: answer.status,
      body: text && answer.headers.get('content-type')?.includes('json') ? JSON.parse(text) : text,
      headers: answer.headers,
    }
  }

  /** Like ask, but an answer outside 2xx is an error that says what the api said. */
  async must(method, path, body) {
    const { status, body: answer } = await this.ask(method, path, body)
    if (status >= 200 && status < 300) return answer
    const faults = (answer.errors ?? []).map(({ pointer, message }) => `${pointer} ${message}`).join('; ')
    throw new Error(`${method} ${path} answered ${status}: ${answer.detail ?? answer} ${faults}`)
  }

  get(path) {
    return this.must('GET', path)
  }

  post(path, body) {
    return this.must('POST', path, body)
  }

  signIn({ email, password }) {
    return this.post('/api/v1/session', { email, password })
  }

  /** Every page of a list. */
  async all(path) {
    const items = []
    let cursor = null
    do {
      const page = await this.get(
        `${path}${path.includes('?') ? '&' : '?'}limit=200${cursor ? `&cursor=${encodeURIComponent(cursor)}` : ''}`,
      )
      items.push(...page.items)
      cursor = page.nextCursor
    } while (cursor)
    return items
  }
}

/** Asks again until it gets something; says what it waited for when it never does. */
export async function until(what, seconds, ask) {
  const end = Date.now() + seconds * 1000
  for (;;) {
    const answer = await ask()
    if (answer) return answer
    if (Date.now() > end) throw new Error(`Waited ${seconds} s for ${what}; it did not come.`)
    await new Promise((later) => setTimeout(later, 300))
  }
}

/**
 * Works a sheet from cautions to finish, as a technician would: answers every step, measures what is asked.
 * @param measure (measurement) => mm, the value typed
 * @returns the sheet after finish
 */
export async function workThrough(client, order, { at, measure }) {
  const path = `/api/v1/work-orders/${order.id}`
  const enter = async (entry) => (await client.post(`${path}/entries`, { id: randomUUID(), madeAt: at(), ...entry })).workOrder
  let sheet = await client.get(path)
  if (sheet.state === 'issued' && sheet.allowed.includes('accept')) sheet = await enter({ kind: 'accept' })
  sheet = await enter({ kind: 'acknowledge_cautions', statement: sheet.acknowledgement })
  sheet = await enter({ kind: 'start' })
  for (const task of sheet.tasks) {
    for (const measurement of task.measurements) {
      const value = measure(measurement, task)
      await enter({
        kind: 'measure',
        taskId: task.id,
        measurementKey: measurement.key,
        value,
        unit: measurement.unit,
        enteredText: String(value),
      })
    }
    for (const step of task.steps)
      if (step.answer !== 'measurement') await enter({ kind: 'answer_step', taskId: task.id, stepKey: step.key, answer: answerOf(step) })
    if (task.replacesComponent) {
      const part = sheet.partsThatFit.find(({ componentKey, onHand }) => componentKey === task.componentKey && onHand > 0)
      if (part) await enter({ kind: 'use_part', partId: part.partId, quantity: 1 })
    }
    sheet = await enter({ kind: 'task_done', taskId: task.id, ...(task.replacesComponent ? { removalReason: 'planned' } : {}) })
  }
  if (sheet.functionCheck.kind !== 'none') {
    const strips = sheet.functionCheck.asks.flatMap(({ askedMm, times }) =>
      Array.from({ length: times }, () => ({ askedMm, measuredMm: askedMm + 1 })),
    )
    sheet = await enter({
      kind: 'function_check',
      tape: 'plain',
      roll: 'half',
      strips,
      coversOn: true,
      cordLookedAt: true,
      wetStripTore: sheet.functionCheck.kind === 'full' ? true : null,
    })
  }
  if (sheet.missing.length > 0) throw new Error(`Not ready to finish: ${sheet.missing.map(({ text }) => text).join('; ')}`)
  return await enter({ kind: 'finish', minutesWorked: sheet.minutesPlanned })
}

function answerOf(step) {
  if (step.answer === 'yes_no' || step.answer === 'tick') return true
  if (step.answer === 'choice') return step.choices?.[0] ?? ''
  return 'as it should be'
}
