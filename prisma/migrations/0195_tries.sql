-- Tries at passwords, links and the like, counted for all api processes together and past a restart.
-- Before anybody is signed in there is no organisation, so this is a room of its own, without one: the application sees
-- none of it and may call the two functions alone. A key is a hash of who tried at what, with the installation's secret.
CREATE SCHEMA sign_in;
CREATE TABLE sign_in.tried (
  key bytea PRIMARY KEY CHECK (length(key) = 32),
  -- Of the window alone, and never more than are free in it.
  tried_at timestamptz[] NOT NULL,
  forget_at timestamptz NOT NULL
);
CREATE INDEX tried_forget_at ON sign_in.tried (forget_at);
GRANT USAGE ON SCHEMA sign_in TO tapewarden_directory;
GRANT SELECT, INSERT, UPDATE, DELETE ON sign_in.tried TO tapewarden_directory;

-- Counts one try under each key, in their order, until one of them is used up. Seconds until that one is free, or null.
-- The row is held while it is counted, so of many at once no more pass than are free. What has run out is removed last:
-- it waits for nobody, so two of these never wait for each other.
CREATE FUNCTION take_tries(keys bytea[], most integer[], seconds integer[]) RETURNS double precision
  LANGUAGE plpgsql VOLATILE SECURITY DEFINER SET search_path = sign_in, pg_temp AS $$
DECLARE
  recent timestamptz[];
  moment timestamptz;
  span interval;
  wait double precision;
BEGIN
  FOR i IN 1 .. cardinality(keys) LOOP
    span := make_interval(secs => seconds[i]);
    INSERT INTO tried (key, tried_at, forget_at) VALUES (keys[i], '{}', clock_timestamp() + span)
      ON CONFLICT (key) DO UPDATE SET forget_at = EXCLUDED.forget_at;
    moment := clock_timestamp();
    SELECT coalesce(array_agg(one ORDER BY one), '{}') INTO recent
      FROM tried t, unnest(t.tried_at) one WHERE t.key = keys[i] AND one > moment - span;
    IF cardinality(recent) >= most[i] THEN
      wait := greatest(1, ceil(extract(epoch FROM recent[1] + span - moment)));
      EXIT;
    END IF;
    UPDATE tried t SET tried_at = recent || moment WHERE t.key = keys[i];
  END LOOP;
  DELETE FROM tried WHERE key IN (
    SELECT t.key FROM tried t WHERE t.forget_at <= clock_timestamp() ORDER BY t.forget_at LIMIT 20 FOR UPDATE SKIP LOCKED);
  RETURN wait;
END $$;

CREATE FUNCTION forgive_tries(forgiven bytea) RETURNS void
  LANGUAGE sql VOLATILE SECURITY DEFINER SET search_path = sign_in, pg_temp
  AS 'DELETE FROM tried WHERE key = forgiven';

GRANT CREATE ON SCHEMA public TO tapewarden_directory;
ALTER FUNCTION take_tries(bytea[], integer[], integer[]) OWNER TO tapewarden_directory;
ALTER FUNCTION forgive_tries(bytea) OWNER TO tapewarden_directory;
REVOKE CREATE ON SCHEMA public FROM tapewarden_directory;
REVOKE ALL ON FUNCTION take_tries(bytea[], integer[], integer[]), forgive_tries(bytea) FROM PUBLIC;
GRANT EXECUTE ON FUNCTION take_tries(bytea[], integer[], integer[]), forgive_tries(bytea) TO tapewarden_app;
