-- The chain of the audit. Entries are insert-only for the application; a link a entry is written by this trigger alone,
-- at commit, so that the order of the chain is the order of commits and its lock is the last that a transaction takes.
DO $$ BEGIN CREATE ROLE tapewarden_auditor NOLOGIN NOSUPERUSER NOBYPASSRLS NOINHERIT; EXCEPTION WHEN duplicate_object OR unique_violation THEN NULL; END $$;
DO $$ BEGIN EXECUTE format('GRANT tapewarden_auditor TO %I', current_user); EXCEPTION WHEN OTHERS THEN NULL; END $$;

-- Set when a person's data was anonymised: the entry that says so. Such an entry has lost its actor's name and what it held of the person.
ALTER TABLE audit_entry ADD COLUMN redacted_by uuid NULL;
ALTER TABLE audit_entry ADD FOREIGN KEY (organisation_id, redacted_by) REFERENCES audit_entry (organisation_id, id) DEFERRABLE INITIALLY DEFERRED;

CREATE TABLE audit_link (
  organisation_id uuid NOT NULL,
  sequence bigint NOT NULL CHECK (sequence > 0),
  entry_id uuid NOT NULL,
  -- Of actor, before and after. With its salt gone, what was redacted cannot be found again by guessing.
  content_hash bytea NOT NULL,
  salt uuid NULL,
  -- sha256 over the hash of the link before, the entry's fixed part, and content_hash.
  hash bytea NOT NULL,
  PRIMARY KEY (organisation_id, sequence),
  UNIQUE (organisation_id, entry_id),
  FOREIGN KEY (organisation_id, entry_id) REFERENCES audit_entry (organisation_id, id)
);

-- The one row that says where a chain ends: links cut off at the end are missed.
CREATE TABLE audit_head (
  organisation_id uuid NOT NULL REFERENCES organisation (id),
  sequence bigint NOT NULL,
  hash bytea NOT NULL,
  PRIMARY KEY (organisation_id)
);

CREATE FUNCTION audit_fixed_part(e audit_entry) RETURNS text LANGUAGE sql STABLE PARALLEL SAFE
  RETURN jsonb_build_array(e.organisation_id, e.id, to_char(e.at AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.US'), e.person_id, e.action, e.subject_kind, e.subject_id, e.request_id)::text;
CREATE FUNCTION audit_content(e audit_entry, salt uuid) RETURNS text LANGUAGE sql STABLE PARALLEL SAFE
  RETURN jsonb_build_array(salt, e.actor, e.before, e.after)::text;

CREATE FUNCTION audit_append(e audit_entry) RETURNS void LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  head audit_head;
  salt uuid := gen_random_uuid();
  content bytea;
  new_hash bytea;
BEGIN
  INSERT INTO audit_head VALUES (e.organisation_id, 0, '\x'::bytea) ON CONFLICT DO NOTHING;
  SELECT * INTO head FROM audit_head h WHERE h.organisation_id = e.organisation_id FOR UPDATE;
  content := sha256(convert_to(audit_content(e, salt), 'UTF8'));
  new_hash := sha256(head.hash || convert_to(audit_fixed_part(e), 'UTF8') || content);
  INSERT INTO audit_link VALUES (e.organisation_id, head.sequence + 1, e.id, content, salt, new_hash);
  UPDATE audit_head h SET sequence = head.sequence + 1, hash = new_hash WHERE h.organisation_id = e.organisation_id;
END $$;

CREATE FUNCTION audit_entry_appended() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  PERFORM audit_append(NEW);
  RETURN NULL;
END $$;

-- Takes a person's name and data out of what was written of them and by them, and says of each entry what it is now.
-- `by_entry`, written in the same transaction with this list in it, is what audit-verify holds redacted entries to.
CREATE FUNCTION audit_redact(person uuid, by_entry uuid) RETURNS TABLE (entry_id uuid, content_hash text)
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
#variable_conflict use_column
DECLARE ours uuid := current_organisation();
BEGIN
  UPDATE audit_link l SET salt = NULL FROM audit_entry e
    WHERE l.organisation_id = ours AND e.organisation_id = ours AND e.id = l.entry_id
      AND (e.person_id = person OR (e.subject_kind = 'person' AND e.subject_id = person));
  RETURN QUERY
    UPDATE audit_entry e SET redacted_by = by_entry,
        actor = CASE WHEN e.person_id = person THEN 'a person since anonymised' ELSE e.actor END,
        before = CASE WHEN e.subject_kind = 'person' AND e.subject_id = person AND e.action <> 'anonymise' THEN NULL ELSE e.before END,
        after = CASE WHEN e.subject_kind = 'person' AND e.subject_id = person AND e.action <> 'anonymise' THEN NULL ELSE e.after END
      WHERE e.organisation_id = ours AND (e.person_id = person OR (e.subject_kind = 'person' AND e.subject_id = person))
      RETURNING e.id, encode(sha256(convert_to(audit_content(e, NULL), 'UTF8')), 'hex');
END $$;

-- What was written before there was a chain: in the order of its moments. An owner who is no superuser must see the rows.
ALTER TABLE audit_entry NO FORCE ROW LEVEL SECURITY;
DO $$
DECLARE e audit_entry;
BEGIN
  FOR e IN SELECT * FROM audit_entry ORDER BY organisation_id, at, id LOOP
    PERFORM audit_append(e);
  END LOOP;
END $$;
ALTER TABLE audit_entry FORCE ROW LEVEL SECURITY;

CREATE CONSTRAINT TRIGGER audit_entry_chain AFTER INSERT ON audit_entry DEFERRABLE INITIALLY DEFERRED
  FOR EACH ROW EXECUTE FUNCTION audit_entry_appended();

DO $$
DECLARE t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['audit_link', 'audit_head'] LOOP
    EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', t);
    EXECUTE format('ALTER TABLE %I FORCE ROW LEVEL SECURITY', t);
    EXECUTE format('CREATE POLICY own_organisation ON %I TO tapewarden_app USING (organisation_id = current_organisation()) WITH CHECK (organisation_id = current_organisation())', t);
    EXECUTE format('GRANT SELECT ON %I TO tapewarden_app', t);
  END LOOP;
  FOREACH t IN ARRAY ARRAY['audit_entry', 'audit_link', 'audit_head'] LOOP
    EXECUTE format('CREATE POLICY auditor ON %I TO tapewarden_auditor USING (organisation_id = current_organisation()) WITH CHECK (organisation_id = current_organisation())', t);
  END LOOP;
END $$;
GRANT USAGE ON SCHEMA public TO tapewarden_auditor;
GRANT SELECT, UPDATE (actor, before, after, redacted_by) ON audit_entry TO tapewarden_auditor;
GRANT SELECT, INSERT, UPDATE (salt) ON audit_link TO tapewarden_auditor;
GRANT SELECT, INSERT, UPDATE ON audit_head TO tapewarden_auditor;

GRANT CREATE ON SCHEMA public TO tapewarden_auditor;
ALTER FUNCTION audit_append(audit_entry) OWNER TO tapewarden_auditor;
ALTER FUNCTION audit_entry_appended() OWNER TO tapewarden_auditor;
ALTER FUNCTION audit_redact(uuid, uuid) OWNER TO tapewarden_auditor;
REVOKE CREATE ON SCHEMA public FROM tapewarden_auditor;
REVOKE ALL ON FUNCTION audit_append(audit_entry), audit_entry_appended(), audit_redact(uuid, uuid) FROM PUBLIC;
GRANT EXECUTE ON FUNCTION audit_redact(uuid, uuid) TO tapewarden_app;
