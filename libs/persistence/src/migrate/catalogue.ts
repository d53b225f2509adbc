import type { Client } from 'pg'

const OURS = `n.nspname IN ('public', 'sign_in')`

/** One line a thing, each saying everything that matters of it; names only what migrations make. */
const QUESTIONS: readonly string[] = [
  `SELECT format('column %s.%s %s%s default %s', c.relname, a.attname, format_type(a.atttypid, a.atttypmod), CASE WHEN a.attnotnull THEN ' not null' ELSE '' END, coalesce(pg_get_expr(d.adbin, d.adrelid), 'none'))
   FROM pg_attribute a JOIN pg_class c ON c.oid = a.attrelid JOIN pg_namespace n ON n.oid = c.relnamespace LEFT JOIN pg_attrdef d ON d.adrelid = c.oid AND d.adnum = a.attnum
   WHERE ${OURS} AND c.relkind IN ('r', 'p', 'v') AND a.attnum > 0 AND NOT a.attisdropped`,
  `SELECT format('constraint %s.%s %s%s', k.conrelid::regclass, k.conname, pg_get_constraintdef(k.oid), CASE WHEN k.convalidated THEN '' ELSE ' not validated' END)
   FROM pg_constraint k JOIN pg_namespace n ON n.oid = k.connamespace WHERE ${OURS} AND k.conrelid <> 0`,
  `SELECT format('index %s%s', pg_get_indexdef(i.indexrelid), CASE WHEN i.indisvalid THEN '' ELSE ' invalid' END)
   FROM pg_index i JOIN pg_class c ON c.oid = i.indexrelid JOIN pg_namespace n ON n.oid = c.relnamespace WHERE ${OURS}`,
  `SELECT format('policy %s.%s %s %s to %s using %s check %s', p.polrelid::regclass, p.polname, p.polcmd, CASE WHEN p.polpermissive THEN 'permissive' ELSE 'restrictive' END,
     (SELECT string_agg(CASE WHEN role = 0 THEN 'public' ELSE pg_get_userbyid(role) END, ',' ORDER BY role) FROM unnest(p.polroles) role), pg_get_expr(p.polqual, p.polrelid), pg_get_expr(p.polwithcheck, p.polrelid))
   FROM pg_policy p JOIN pg_class c ON c.oid = p.polrelid JOIN pg_namespace n ON n.oid = c.relnamespace WHERE ${OURS}`,
  `SELECT format('table %s kind %s row security %s forced %s comment %s', c.relname, c.relkind, c.relrowsecurity, c.relforcerowsecurity, coalesce(obj_description(c.oid, 'pg_class'), ''))
   FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace WHERE ${OURS} AND c.relkind IN ('r', 'p', 'v')`,
  `SELECT format('grant %s on %s to %s', g.privilege_type, c.relname, g.grantee::regrole)
   FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace, aclexplode(c.relacl) g WHERE ${OURS} AND g.grantee <> c.relowner`,
  `SELECT format('grant %s on %s.%s to %s', g.privilege_type, c.relname, a.attname, g.grantee::regrole)
   FROM pg_attribute a JOIN pg_class c ON c.oid = a.attrelid JOIN pg_namespace n ON n.oid = c.relnamespace, aclexplode(a.attacl) g WHERE ${OURS}`,
  `SELECT format('grant %s on schema %s to %s', g.privilege_type, n.nspname, CASE WHEN g.grantee = 0 THEN 'public' ELSE g.grantee::regrole::text END)
   FROM pg_namespace n, aclexplode(n.nspacl) g WHERE n.nspname IN ('public', 'sign_in', 'bullmq') AND g.grantee <> n.nspowner`,
  `SELECT format('function %s of %s for %s: %s', p.oid::regprocedure, CASE WHEN p.proowner = n.nspowner THEN 'owner' ELSE p.proowner::regrole::text END, p.proacl::text, pg_get_functiondef(p.oid))
   FROM pg_proc p JOIN pg_namespace n ON n.oid = p.pronamespace WHERE ${OURS} AND p.prokind IN ('f', 'p')`,
  `SELECT format('trigger %s %s', pg_get_triggerdef(t.oid), t.tgenabled) FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid JOIN pg_namespace n ON n.oid = c.relnamespace WHERE ${OURS} AND NOT t.tgisinternal`,
  `SELECT format('enum %s %s', t.typname, string_agg(e.enumlabel, ',' ORDER BY e.enumsortorder)) FROM pg_enum e JOIN pg_type t ON t.oid = e.enumtypid JOIN pg_namespace n ON n.oid = t.typnamespace WHERE ${OURS} GROUP BY t.typname`,
  `SELECT format('extension %s', extname) FROM pg_extension`,
]

/** Everything that the migrations made, one line a thing, sorted: what Prisma's own comparison does not see included. */
export async function readCatalogue(client: Client): Promise<string[]> {
  const lines: string[] = []
  for (const question of QUESTIONS) {
    const { rows } = await client.query<[string]>({ text: question, rowMode: 'array' })
    lines.push(...rows.map(([line]) => line))
  }
  return lines.sort()
}

export interface Drift {
  missing: string[]
  unexpected: string[]
}

/** @param wanted the catalogue of a database made from the migration files alone */
export function compareCatalogues(wanted: readonly string[], found: readonly string[]): Drift {
  const [inWanted, inFound] = [new Set(wanted), new Set(found)]
  return { missing: wanted.filter((line) => !inFound.has(line)), unexpected: found.filter((line) => !inWanted.has(line)) }
}
