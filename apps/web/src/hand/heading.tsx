import { type ReactNode, useEffect, useRef } from 'react'

/** The page's title and first heading; takes the focus when the page opens, so that a screen reader hears where it is. */
export function HandHeading({ title, children }: { title: string; children: ReactNode }): ReactNode {
  const heading = useRef<HTMLHeadingElement>(null)
  useEffect(() => {
    document.title = `${title} – Tapewarden on site`
    heading.current?.focus()
  }, [title])
  return (
    <h1 ref={heading} tabIndex={-1}>
      {children}
    </h1>
  )
}

/** A page of which nothing is kept and nothing came: it still says where one is. */
export function NoPage({ title, error, more = '' }: { title: string; error: Error; more?: string }): ReactNode {
  return (
    <>
      <HandHeading title={title}>{title}</HandHeading>
      <p className="note">
        {error.message} {more}
      </p>
      <a className="button" href="#/">
        Here, today
      </a>
    </>
  )
}
