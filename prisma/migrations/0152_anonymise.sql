-- A person whose name and everything personal were taken away for good; what they did stays, by a name that says nothing.
ALTER TABLE person ADD COLUMN anonymised_at timestamptz NULL;
ALTER TABLE person ADD CHECK (anonymised_at IS NULL OR (disabled_at IS NOT NULL AND email IS NULL AND password_hash IS NULL));

-- Every whole string of a JSON value that is one of the names becomes the tag; a name inside a sentence stays.
CREATE FUNCTION json_without(content jsonb, names text[], tag text) RETURNS jsonb LANGUAGE plpgsql IMMUTABLE PARALLEL SAFE SET search_path = pg_catalog AS $$
DECLARE
  said text := content::text;
  one text;
BEGIN
  FOREACH one IN ARRAY names LOOP
    said := replace(said, to_jsonb(one)::text, to_jsonb(tag)::text);
  END LOOP;
  RETURN said::jsonb;
END $$;

-- As audit_redact, and wherever else the history names the person by a value of its own: as who was told, who had the order.
CREATE FUNCTION audit_redact_person(person uuid, by_entry uuid, names text[], tag text) RETURNS TABLE (entry_id uuid, content_hash text)
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
#variable_conflict use_column
DECLARE
  ours uuid := current_organisation();
  found uuid[];
BEGIN
  SELECT array_agg(e.id) INTO found FROM audit_entry e WHERE e.organisation_id = ours AND (
    e.person_id = person OR (e.subject_kind = 'person' AND e.subject_id = person) OR e.actor = ANY (names)
    OR json_without(e.before, names, tag) IS DISTINCT FROM e.before OR json_without(e.after, names, tag) IS DISTINCT FROM e.after);
  UPDATE audit_link l SET salt = NULL WHERE l.organisation_id = ours AND l.entry_id = ANY (found);
  RETURN QUERY
    UPDATE audit_entry e SET redacted_by = by_entry,
        actor = CASE WHEN e.person_id = person OR e.actor = ANY (names) THEN tag ELSE e.actor END,
        before = CASE WHEN e.subject_kind = 'person' AND e.subject_id = person AND e.action <> 'anonymise' THEN NULL ELSE json_without(e.before, names, tag) END,
        after = CASE WHEN e.subject_kind = 'person' AND e.subject_id = person AND e.action <> 'anonymise' THEN NULL ELSE json_without(e.after, names, tag) END
      WHERE e.organisation_id = ours AND e.id = ANY (found)
      RETURNING e.id, encode(sha256(convert_to(audit_content(e, NULL), 'UTF8')), 'hex');
END $$;
GRANT CREATE ON SCHEMA public TO tapewarden_auditor;
ALTER FUNCTION audit_redact_person(uuid, uuid, text[], text) OWNER TO tapewarden_auditor;
REVOKE CREATE ON SCHEMA public FROM tapewarden_auditor;
REVOKE ALL ON FUNCTION audit_redact_person(uuid, uuid, text[], text) FROM PUBLIC;
GRANT EXECUTE ON FUNCTION audit_redact_person(uuid, uuid, text[], text) TO tapewarden_app;

-- What else is personal and was kept by nobody's leave to take away.
GRANT DELETE ON account_link, calendar_feed TO tapewarden_app;
GRANT UPDATE (address, diagnostic) ON bounce TO tapewarden_app;
