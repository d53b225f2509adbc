-- Many sign in from one address when a shift begins: whoever was right has guessed nothing.
CREATE FUNCTION give_back_try(given bytea) RETURNS void
  LANGUAGE sql VOLATILE SECURITY DEFINER SET search_path = sign_in, pg_temp
  AS 'UPDATE tried SET tried_at = trim_array(tried_at, 1) WHERE key = given AND cardinality(tried_at) > 0';

GRANT CREATE ON SCHEMA public TO tapewarden_directory;
ALTER FUNCTION give_back_try(bytea) OWNER TO tapewarden_directory;
REVOKE CREATE ON SCHEMA public FROM tapewarden_directory;
REVOKE ALL ON FUNCTION give_back_try(bytea) FROM PUBLIC;
GRANT EXECUTE ON FUNCTION give_back_try(bytea) TO tapewarden_app;
