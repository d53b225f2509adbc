-- A calendar of one person and warehouse behind a secret address, of which only the hash is kept. One live a pair.
CREATE TABLE calendar_feed (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  person_id uuid NOT NULL,
  warehouse_id uuid NOT NULL,
  token_hash bytea NOT NULL UNIQUE,
  created_at timestamptz NOT NULL,
  revoked_at timestamptz NULL,
  last_read_at timestamptz NULL,
  PRIMARY KEY (organisation_id, id),
  FOREIGN KEY (organisation_id, person_id) REFERENCES person (organisation_id, id),
  FOREIGN KEY (organisation_id, warehouse_id) REFERENCES warehouse (organisation_id, id)
);
CREATE UNIQUE INDEX calendar_feed_live_key ON calendar_feed (organisation_id, person_id, warehouse_id) WHERE revoked_at IS NULL;

ALTER TABLE calendar_feed ENABLE ROW LEVEL SECURITY;
ALTER TABLE calendar_feed FORCE ROW LEVEL SECURITY;
CREATE POLICY own_organisation ON calendar_feed TO tapewarden_app USING (organisation_id = current_organisation()) WITH CHECK (organisation_id = current_organisation());
GRANT SELECT, INSERT, UPDATE ON calendar_feed TO tapewarden_app;

-- Who reads a feed names no organisation; the address alone finds it.
CREATE POLICY directory_reads ON calendar_feed FOR SELECT TO tapewarden_directory USING (true);
GRANT SELECT (organisation_id, id, token_hash, revoked_at) ON calendar_feed TO tapewarden_directory;
CREATE FUNCTION directory_calendar_feed(asked bytea) RETURNS TABLE (organisation_id uuid, feed_id uuid)
  LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public, pg_temp
  AS 'SELECT organisation_id, id FROM calendar_feed WHERE token_hash = asked AND revoked_at IS NULL';
GRANT CREATE ON SCHEMA public TO tapewarden_directory;
ALTER FUNCTION directory_calendar_feed(bytea) OWNER TO tapewarden_directory;
REVOKE CREATE ON SCHEMA public FROM tapewarden_directory;
REVOKE ALL ON FUNCTION directory_calendar_feed(bytea) FROM PUBLIC;
GRANT EXECUTE ON FUNCTION directory_calendar_feed(bytea) TO tapewarden_app;

-- RFC 5545, 3.8.7.4: SEQUENCE goes up with every change of day or state and never falls, whoever writes the row.
ALTER TABLE occurrence ADD COLUMN calendar_sequence integer NOT NULL DEFAULT 0;
ALTER TABLE occurrence ADD COLUMN calendar_changed_at timestamptz NULL;
CREATE FUNCTION count_calendar_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF NEW.due_on IS DISTINCT FROM OLD.due_on OR NEW.state IS DISTINCT FROM OLD.state OR NEW.warehouse_id IS DISTINCT FROM OLD.warehouse_id THEN
    NEW.calendar_sequence := OLD.calendar_sequence + 1;
    NEW.calendar_changed_at := clock_timestamp();
  ELSE
    NEW.calendar_sequence := OLD.calendar_sequence;
  END IF;
  RETURN NEW;
END $$;
CREATE TRIGGER count_calendar_change BEFORE UPDATE ON occurrence FOR EACH ROW EXECUTE FUNCTION count_calendar_change();
