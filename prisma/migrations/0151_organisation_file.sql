-- An organisation comes in from a file in one transaction, whatever refers to what: foreign keys may wait for its end.
-- They go on being checked at once unless a transaction asks otherwise.
DO $$
DECLARE k record;
BEGIN
  FOR k IN SELECT conname, conrelid::regclass AS place FROM pg_constraint
    WHERE contype = 'f' AND connamespace = 'public'::regnamespace AND NOT condeferrable AND conparentid = 0 LOOP
    EXECUTE format('ALTER TABLE %s ALTER CONSTRAINT %I DEFERRABLE INITIALLY IMMEDIATE', k.place, k.conname);
  END LOOP;
END $$;

-- The audit chain travels as it is. Only where an organisation has no chain yet can one be taken over; who takes it over
-- verifies it before the transaction ends.
CREATE FUNCTION audit_take_links(links jsonb) RETURNS integer LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  ours uuid := current_organisation();
  taken integer;
BEGIN
  IF EXISTS (SELECT 1 FROM audit_head WHERE organisation_id = ours) THEN
    RAISE EXCEPTION 'This organisation has a chain of its own.' USING ERRCODE = '42501';
  END IF;
  INSERT INTO audit_link (organisation_id, sequence, entry_id, content_hash, salt, hash)
    SELECT ours, l.sequence, l.entry_id, l.content_hash, l.salt, l.hash FROM jsonb_populate_recordset(NULL::audit_link, links) l;
  GET DIAGNOSTICS taken = ROW_COUNT;
  RETURN taken;
END $$;
CREATE FUNCTION audit_take_head(head_sequence bigint, head_hash bytea) RETURNS void LANGUAGE sql SECURITY DEFINER SET search_path = public, pg_temp
  AS 'INSERT INTO audit_head (organisation_id, sequence, hash) VALUES (current_organisation(), head_sequence, head_hash)';

-- An entry that came with its link needs no other.
CREATE OR REPLACE FUNCTION audit_entry_appended() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  IF NOT EXISTS (SELECT 1 FROM audit_link l WHERE l.organisation_id = NEW.organisation_id AND l.entry_id = NEW.id) THEN
    PERFORM audit_append(NEW);
  END IF;
  RETURN NULL;
END $$;

GRANT CREATE ON SCHEMA public TO tapewarden_auditor;
ALTER FUNCTION audit_take_links(jsonb) OWNER TO tapewarden_auditor;
ALTER FUNCTION audit_take_head(bigint, bytea) OWNER TO tapewarden_auditor;
REVOKE CREATE ON SCHEMA public FROM tapewarden_auditor;
REVOKE ALL ON FUNCTION audit_take_links(jsonb), audit_take_head(bigint, bytea) FROM PUBLIC;
GRANT EXECUTE ON FUNCTION audit_take_links(jsonb), audit_take_head(bigint, bytea) TO tapewarden_app;
