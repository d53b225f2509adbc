// Fills an installation in bulk, through the tables and triggers of real rows: one record of use for each machine and day, at most half
// of the rows and five years; the rest are entries of the audit.
const LONGEST_USE_DAYS = 1826
const EVIDENCE_EACH = 20_000
/** Each entry is chained at commit; long transactions would make each link dearer than the one before. */
const AUDIT_EACH = 500

const EVIDENCE = `WITH given AS (
    INSERT INTO evidence (organisation_id, id, kind, warehouse_id, machine_id, from_date, to_date, amount, source, external_id, state, created_at)
    SELECT m.organisation_id, gen_random_uuid(), 'strips_day', m.warehouse_id, m.id, d.day, d.day, 400 + n % 1187, 'drill', m.id || ' ' || d.day, 'counted', clock_timestamp()
    FROM generate_series($2::int, $3::int) n
    JOIN machines m ON m.place = n % (SELECT count(*) FROM machines)
    CROSS JOIN LATERAL (SELECT $1::date - (n / (SELECT count(*) FROM machines))::int AS day) d
    RETURNING organisation_id, source, external_id, id)
  INSERT INTO evidence_key (organisation_id, source, external_id, evidence_id) SELECT organisation_id, source, external_id, id FROM given`
const AUDIT = `INSERT INTO audit_entry (organisation_id, id, at, actor, action, subject_kind, subject_id, after, request_id)
  SELECT m.organisation_id, gen_random_uuid(), clock_timestamp(), 'drill', 'give evidence', 'machine', m.id, jsonb_build_object('strips', 400 + n % 1200, 'day', $1::date - n % 2000), 'drill ' || n
  FROM generate_series($2::int, $3::int) n JOIN machines m ON m.place = n % (SELECT count(*) FROM machines)`

/**
 * @param lastDay the newest day of use, 'YYYY-MM-DD'
 * @returns {recordsOfUse, entriesOfAudit, fillSeconds}
 */
export async function fill(client, { rows, lastDay, say }) {
  const began = Date.now()
  // The chain of the audit belongs to one organisation at a time.
  await client.query(`SELECT set_config('app.organisation_id', id::text, false) FROM organisation ORDER BY id LIMIT 1`)
  await client.query(`CREATE TEMPORARY TABLE machines AS
    SELECT m.organisation_id, m.id, p.warehouse_id, row_number() OVER (ORDER BY m.id) - 1 AS place
    FROM machine m JOIN placement p ON p.organisation_id = m.organisation_id AND p.machine_id = m.id AND p.to_at IS NULL
    WHERE m.organisation_id = current_organisation() AND m.status <> 'retired'`)
  const { rows: counted } = await client.query('SELECT count(*)::int AS machines FROM machines')
  const ofUse = Math.min(Math.ceil(rows / 2), counted[0].machines * LONGEST_USE_DAYS)
  for (const [text, count, each] of [
    [EVIDENCE, ofUse, EVIDENCE_EACH],
    [AUDIT, rows - ofUse, AUDIT_EACH],
  ])
    for (let first = 0; first < count; first += each) {
      await client.query(text, [lastDay, first, Math.min(first + each, count) - 1])
      if ((first / each) % 200 === 199) say(`  … ${first + each} of ${count}`)
    }
  await client.query('DROP TABLE machines')
  await client.query('UPDATE warehouse SET evidence_version = evidence_version + 1')
  await client.query('ANALYZE')
  return { recordsOfUse: ofUse, entriesOfAudit: rows - ofUse, fillSeconds: (Date.now() - began) / 1000 }
}

export async function countRows(client) {
  const { rows } = await client.query(
    `SELECT (SELECT count(*)::int FROM evidence) + (SELECT count(*)::int FROM audit_entry) AS rows, pg_database_size(current_database())::float8 / 1e6 AS megabytes`,
  )
  return rows[0]
}
