/** Everything of the organisation as one file, to keep or to take to another installation. */
import type { ReactNode } from 'react'
import { routes } from '@tapewarden/shared'
import { Heading } from '../ui/parts.js'
import { useMe } from './me.js'

export function SetUpOrganisation(): ReactNode {
  const me = useMe()
  if (me.person.role !== 'administrator')
    return (
      <>
        <Heading title="Everything as a file">Everything as a file</Heading>
        <p>An administrator can take it.</p>
      </>
    )
  return (
    <>
      <Heading title="Everything as a file">Everything as a file</Heading>
      <p>
        One file with all that {me.organisation.name} has here: machines, plans, dates, work, parts, people, mails, photos and the history.
        It ends with a checksum over all of it, so a file that was changed or cut is refused where it is taken in.
      </p>
      <p>
        Not in it are ways of signing in: passwords, sessions, access keys, calendar addresses, one-time codes and passkeys. Where the file
        is taken in, each person sets a new password by ‘Forgotten the password?’.
      </p>
      <p>
        <a className="button main" href={routes.exportOrganisation.path} download>
          Take the file
        </a>
      </p>
      <p className="soft">
        It holds names and addresses: keep it as you keep those. That you took it is written into the history. Taking it into another
        installation is done at its server: <code>npm run organisation -- take --from FILE</code>.
      </p>
    </>
  )
}
