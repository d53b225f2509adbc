-- A key belongs to who sent it: nobody is answered with what somebody else did. Nothing has written here before.
ALTER TABLE idempotency_key DROP CONSTRAINT idempotency_key_pkey;
ALTER TABLE idempotency_key ADD COLUMN actor_id uuid NOT NULL;
-- Goes up when a claim whose holder died is taken over: the holder of an older one can no longer write its effect.
ALTER TABLE idempotency_key ADD COLUMN attempt integer NOT NULL DEFAULT 1;
ALTER TABLE idempotency_key ADD PRIMARY KEY (organisation_id, actor_id, key);
CREATE INDEX idempotency_key_old_idx ON idempotency_key (organisation_id, created_at);
