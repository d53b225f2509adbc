import type { ReactNode } from 'react'
import { Link } from 'react-router'
import { mayDecide, useMe } from './me.js'

/** On every page that lists what warehouses have, while there is none: where it begins. */
export function NoWarehouseYet(): ReactNode {
  const me = useMe()
  if (me.warehouses.length > 0) return null
  return (
    <p className="note">
      No warehouse is registered yet.{' '}
      {mayDecide(me) ? <Link to="/begin">Begin: seven questions</Link> : 'A manager registers the first, and says whom it is served by.'}
    </p>
  )
}
