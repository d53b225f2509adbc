/** What a scan of the label opens for whoever packs there: do not reach in; then one tap for what is wrong, or that it works again. */
import { type FormEvent, type ReactNode, useCallback, useEffect, useRef, useState } from 'react'
import type { Answer } from '../client/api.js'
import { ask, Refused as RefusedError } from '../hand/server.js'
import { Heading } from '../ui/parts.js'
import { SETTLE_MS, useSettled } from '../ui/settled.js'
import { LANGUAGES, languageFor, type LanguageKey, withName } from './languages/index.js'
import { type PackerWords, RUN_KEYS, WRONG_KEYS, type WrongKey } from './languages/words.js'
import { NoHandsPicture, WrongPicture } from './pictures.js'

type Page = Answer<'packerPage'>
const CHOSEN = 'tapewarden-packer-language'
/** By the phone's own lean client: whoever packs there loads no table of routes. */
const pathOf = (token: string, what = ''): string => `/api/v1/labels/${encodeURIComponent(token)}${what}`
const tell = (token: string, what: string, body?: object): Promise<Page> => ask<Page>('POST', pathOf(token, what), body)

function useLanguage(): [LanguageKey, (key: LanguageKey) => void] {
  const [key, setKey] = useState(() => languageFor([localStorage.getItem(CHOSEN), ...navigator.languages]))
  useEffect(() => void (document.documentElement.lang = key), [key])
  const choose = (next: LanguageKey): void => {
    localStorage.setItem(CHOSEN, next)
    setKey(next)
  }
  return [key, choose]
}

export function Packer({ token }: { token: string }): ReactNode {
  const [language, choose] = useLanguage()
  const words: PackerWords = LANGUAGES[language]
  const [page, setPage] = useState<Page | null>(null)
  const [fault, setFault] = useState<unknown>(null)
  const [error, setError] = useState<unknown>(null)
  const [said, setSaid] = useState<Saying | null>(null)
  const load = useCallback((): void => {
    setFault(null)
    ask<Page>('GET', pathOf(token)).then(setPage, setFault)
  }, [token])
  useEffect(load, [load])
  const lastTap = useRef(-SETTLE_MS)
  const send: Sending['send'] = async (saying, doing) => {
    // The second tap of one finger says nothing new; whatever comes later does, also while the first still hangs.
    if (performance.now() - lastTap.current < SETTLE_MS) return false
    lastTap.current = performance.now()
    setError(null)
    try {
      setPage(await doing())
    } catch (fault) {
      setSaid(null)
      setError(fault)
      return false
    } finally {
      // What came of it stands above, whatever was tapped far below.
      scrollTo(0, 0)
    }
    setSaid(() => saying)
    return true
  }
  return (
    <main className="hand" aria-busy={page === null && fault === null}>
      {fault ? (
        <>
          <Heading title="Tapewarden">Tapewarden</Heading>
          <Refused error={fault} words={words} again={load} />
        </>
      ) : page ? (
        <Shown
          page={page}
          token={token}
          words={words}
          said={said?.(words, page) ?? null}
          error={error}
          send={send}
          english={language !== 'en'}
        />
      ) : (
        <p className="soft">{words.loading}</p>
      )}
      <Languages chosen={language} onChoose={choose} />
    </main>
  )
}

function Refused({ error, words, again }: { error: unknown; words: PackerWords; again?: () => void }): ReactNode {
  const status = error instanceof RefusedError ? error.status : 0
  // What cannot be a label at all is as good as an old one; what was typed wrong was only not taken.
  const old = status === 404 || (again !== undefined && status >= 400 && status < 429)
  const said = old ? words.oldLabel : status === 429 ? words.tooMany : words.notSent
  return (
    <div className="note alarmed" role="alert">
      <p>{said}</p>
      {again && !old ? <button onClick={again}>↻ {words.send}</button> : null}
    </div>
  )
}

interface Sending {
  page: Page
  token: string
  words: PackerWords
  /** @returns whether it was taken in */
  send: (saying: Saying, doing: () => Promise<Page>) => Promise<boolean>
}
type Saying = (words: PackerWords, page: Page) => string
type ShownProps = Sending & { said: string | null; error: unknown; english: boolean }

function Shown({ page, token, words, said, error, send, english }: ShownProps): ReactNode {
  const report = (what: WrongKey): void => {
    const saying = (next: PackerWords): string =>
      what === 'smell_or_smoke' ? smoke(page, next) : `${next.reportedThanks} ${next.safety.leaveOff}`
    void send(saying, () => tell(token, '/reports', { id: crypto.randomUUID(), what }))
  }
  const worksAgain = (): void =>
    void send(
      // Whoever has it in hand since ends it; the page says so by itself.
      (next, { report: still }) => (still ? next.thanks : next.worksAgainThanks),
      () => tell(token, '/works-again'),
    )
  const settled = useSettled(JSON.stringify([page.report, page.monthlyTapGiven]))
  return (
    <div {...settled}>
      <DoNotReachIn page={page} words={words} english={english} />
      <Heading title={page.labelCode}>
        {page.labelCode} {page.place ? <span className="soft">{page.place}</span> : null}
      </Heading>
      {error ? <Refused error={error} words={words} /> : null}
      <p role="status" className={said ? 'note' : undefined}>
        {said}
      </p>
      {page.report?.held === 'worked_on' ? (
        <p className="strong">
          {words.workedOn} {words.safety.leaveOff}
        </p>
      ) : page.report ? (
        <section aria-label={words.reported}>
          <p className="strong">
            {words.reported}: {wordOf(page.report.what, words)}. {words.safety.leaveOff}{' '}
            {page.contactName ? withName(words.findsIt, page.contactName) : ''}
          </p>
          {page.report.held === null ? (
            <button className="main" onClick={worksAgain}>
              {words.worksAgain}
            </button>
          ) : null}
        </section>
      ) : null}
      <section aria-label={words.whatIsWrong}>
        <h2>{page.report ? words.somethingElse : words.whatIsWrong}</h2>
        <div className="stack">
          {WRONG_KEYS.map((what) => (
            <button key={what} className="with-sign" onClick={() => report(what)}>
              <WrongPicture of={what} /> <span>{words.wrong[what]}</span>
            </button>
          ))}
        </div>
      </section>
      <Monthly page={page} token={token} words={words} send={send} />
      {page.counterKind === 'none' ? null : <Counter page={page} token={token} words={words} send={send} />}
      <p className="part">
        <a className="button" href={`/hand.html#/machine/${encodeURIComponent(page.labelCode)}/scanned`}>
          {words.iWorkOnIt}
        </a>
      </p>
    </div>
  )
}

const isWrong = (key: string): key is WrongKey => (WRONG_KEYS as readonly string[]).includes(key)
/** A technician may have reported what packers have no button for. */
const wordOf = (what: string, { wrong }: PackerWords): string => (isWrong(what) ? wrong[what] : wrong.other)

const smoke = ({ contactName }: Page, { safety }: PackerWords): string =>
  contactName ? withName(safety.smokeNamed, contactName) : safety.smoke

/** The lines come before everything else, with a picture; in another language than English that stands below, until a native reader has checked. */
function DoNotReachIn({ page, words, english }: { page: Page; words: PackerWords; english: boolean }): ReactNode {
  return (
    <section className="note alarmed beside first" aria-label={words.beforeAll}>
      <NoHandsPicture label={words.noHands} />
      <div>
        <p className="strong">{linesOf(page, words)}</p>
        {english ? (
          <p className="small" lang="en">
            {linesOf(page, LANGUAGES.en)}
          </p>
        ) : null}
      </div>
    </section>
  )
}

const linesOf = ({ heater, supply }: Page, { safety }: PackerWords): string =>
  [safety.doNotReachIn, safety.bladeCuts, heater ? safety.heaterBurns : '', supply === 'none' ? '' : safety.dryHands]
    .filter(Boolean)
    .join(' ')

function Monthly({ page, token, words, send }: Sending): ReactNode {
  if (page.monthlyTapGiven) return null
  return (
    <section aria-label={words.howMuch}>
      <h2>{words.howMuch}</h2>
      <div className="stack">
        {RUN_KEYS.map((runs) => (
          <button
            key={runs}
            onClick={() =>
              void send(
                (next) => next.thanks,
                () => tell(token, '/monthly-tap', { id: crypto.randomUUID(), runs }),
              )
            }
          >
            {words.runs[runs]}
          </button>
        ))}
      </div>
    </section>
  )
}

const COUNTED = /^\d{1,12}([.,]\d{1,6})?$/

function Counter({ token, words, send }: Sending): ReactNode {
  // An id for what is typed, so that the same sent again, after an answer that was lost, counts once.
  const [{ value, id }, type] = useState({ value: '', id: '' })
  const typed = value.replace(/\s/g, '')
  const give = async (event: FormEvent): Promise<void> => {
    event.preventDefault()
    const taken = await send(
      (next) => next.counterThanks,
      () => tell(token, '/counter', { id, value: Number(typed.replace(',', '.')) }),
    )
    // What was typed meanwhile stays.
    if (taken) type((now) => (now.id === id ? { value: '', id: '' } : now))
  }
  return (
    <form onSubmit={(event) => void give(event)}>
      <label htmlFor="counter">{words.counterShows}</label>
      <div className="beside">
        <input
          id="counter"
          inputMode="numeric"
          value={value}
          onChange={(event) => type({ value: event.target.value, id: crypto.randomUUID() })}
          autoComplete="off"
        />
        <button className="main" disabled={!COUNTED.test(typed)}>
          {words.send}
        </button>
      </div>
    </form>
  )
}

function Languages({ chosen, onChoose }: { chosen: LanguageKey; onChoose: (key: LanguageKey) => void }): ReactNode {
  return (
    <nav className="part languages" aria-label="Languages">
      {(Object.keys(LANGUAGES) as LanguageKey[]).map((key) => (
        <button key={key} lang={key} aria-pressed={key === chosen} onClick={() => onChoose(key)}>
          {LANGUAGES[key].language}
        </button>
      ))}
    </nav>
  )
}
