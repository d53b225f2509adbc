-- Word to other programs: what is told to which address, and each telling with what became of it. Written in the transaction of
-- what it tells of, found by the sweep, carried by the queue, as messages are.
CREATE TABLE webhook (
  organisation_id uuid NOT NULL REFERENCES organisation (id),
  id uuid NOT NULL,
  name text NOT NULL CHECK (length(name) BETWEEN 1 AND 100),
  url text NOT NULL CHECK (length(url) BETWEEN 8 AND 1000),
  kinds text[] NOT NULL CHECK (cardinality(kinds) > 0 AND kinds <@ ARRAY['due', 'work_order', 'stoppage']),
  -- NULL: every warehouse.
  warehouse_ids uuid[] NULL,
  -- Encrypted with a key made from SECRET_KEY.
  sealed_secret bytea NOT NULL,
  created_by uuid NOT NULL,
  created_at timestamptz NOT NULL,
  -- What falls due is told from this day on: not everything that has been due for long.
  due_since date NOT NULL,
  -- Since when nothing has arrived; NULL: the last telling arrived, or none was made.
  failing_since timestamptz NULL,
  off_at timestamptz NULL,
  off_reason text NULL,
  version integer NOT NULL DEFAULT 1,
  PRIMARY KEY (organisation_id, id),
  CHECK ((off_at IS NULL) = (off_reason IS NULL)),
  FOREIGN KEY (organisation_id, created_by) REFERENCES person (organisation_id, id)
);

CREATE TABLE webhook_delivery (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  webhook_id uuid NOT NULL,
  kind text NOT NULL CHECK (kind IN ('due', 'work_order', 'stoppage', 'test')),
  -- The same thing is told once: an occurrence and its due day, an order and its state, a stoppage begun or ended.
  event_key text NOT NULL,
  body jsonb NOT NULL,
  state text NOT NULL DEFAULT 'pending' CHECK (state IN ('pending', 'claimed', 'delivered', 'failed')),
  attempts integer NOT NULL DEFAULT 0,
  send_after timestamptz NOT NULL,
  lease_until timestamptz NULL,
  fencing bigint NOT NULL DEFAULT 0,
  -- Of the last attempt: what the other side answered, or why it could not be asked. Never what its answer held.
  last_status integer NULL,
  last_error text NULL,
  ended_at timestamptz NULL,
  created_at timestamptz NOT NULL,
  PRIMARY KEY (organisation_id, id),
  UNIQUE (organisation_id, webhook_id, event_key),
  CHECK ((state IN ('delivered', 'failed')) = (ended_at IS NOT NULL)),
  FOREIGN KEY (organisation_id, webhook_id) REFERENCES webhook (organisation_id, id) ON DELETE CASCADE
);
CREATE INDEX webhook_delivery_due_idx ON webhook_delivery (organisation_id, send_after) WHERE state IN ('pending', 'claimed');
CREATE INDEX webhook_delivery_newest_idx ON webhook_delivery (organisation_id, webhook_id, created_at DESC, id DESC);

DO $$
DECLARE t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['webhook', 'webhook_delivery'] LOOP
    EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', t);
    EXECUTE format('ALTER TABLE %I FORCE ROW LEVEL SECURITY', t);
    EXECUTE format('CREATE POLICY own_organisation ON %I TO tapewarden_app USING (organisation_id = current_organisation()) WITH CHECK (organisation_id = current_organisation())', t);
    EXECUTE format('GRANT SELECT, INSERT, UPDATE, DELETE ON %I TO tapewarden_app', t);
  END LOOP;
END $$;

-- Whoever changes an order or a stoppage tells of it, by whatever way; runs as who changes it, under the same guard.
CREATE FUNCTION tell_webhooks(asked_kind text, asked_warehouse uuid, asked_key text, told jsonb) RETURNS void LANGUAGE sql SET search_path = public, pg_temp AS $$
  INSERT INTO webhook_delivery (organisation_id, id, webhook_id, kind, event_key, body, send_after, created_at)
  SELECT w.organisation_id, gen_random_uuid(), w.id, asked_kind, asked_key, told, to_timestamp(0), t.now FROM webhook w, (SELECT date_trunc('milliseconds', clock_timestamp()) AS now) t
  WHERE w.organisation_id = current_organisation() AND w.off_at IS NULL AND asked_kind = ANY (w.kinds)
    AND (w.warehouse_ids IS NULL OR asked_warehouse = ANY (w.warehouse_ids))
  ON CONFLICT (organisation_id, webhook_id, event_key) DO NOTHING
$$;

CREATE FUNCTION tell_of_work_order() RETURNS trigger LANGUAGE plpgsql SET search_path = public, pg_temp AS $$
BEGIN
  IF TG_OP = 'UPDATE' AND NEW.state = OLD.state THEN RETURN NULL; END IF;
  IF NOT EXISTS (SELECT 1 FROM webhook w WHERE w.organisation_id = NEW.organisation_id AND w.off_at IS NULL AND 'work_order' = ANY (w.kinds)) THEN RETURN NULL; END IF;
  PERFORM tell_webhooks('work_order', NEW.warehouse_id, format('work_order %s %s %s', NEW.id, NEW.version, NEW.state), (
    SELECT jsonb_build_object('workOrderId', NEW.id, 'number', NEW.number, 'state', NEW.state, 'was', CASE WHEN TG_OP = 'UPDATE' THEN OLD.state END,
      'machineId', NEW.machine_id, 'labelCode', m.label_code, 'warehouseId', NEW.warehouse_id, 'plannedOn', NEW.planned_on)
    FROM machine m WHERE m.organisation_id = NEW.organisation_id AND m.id = NEW.machine_id));
  RETURN NULL;
END $$;
CREATE TRIGGER tell_of_work_order AFTER INSERT OR UPDATE OF state ON work_order FOR EACH ROW EXECUTE FUNCTION tell_of_work_order();

CREATE FUNCTION tell_of_stoppage() RETURNS trigger LANGUAGE plpgsql SET search_path = public, pg_temp AS $$
BEGIN
  IF TG_OP = 'UPDATE' AND NEW.back_in_use_at IS NOT DISTINCT FROM OLD.back_in_use_at THEN RETURN NULL; END IF;
  IF NOT EXISTS (SELECT 1 FROM webhook w WHERE w.organisation_id = NEW.organisation_id AND w.off_at IS NULL AND 'stoppage' = ANY (w.kinds)) THEN RETURN NULL; END IF;
  PERFORM tell_webhooks('stoppage', NEW.warehouse_id, format('stoppage %s %s', NEW.id, COALESCE(to_char(NEW.back_in_use_at AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS"Z"'), 'begun')), (
    SELECT jsonb_build_object('stoppageId', NEW.id, 'state', CASE WHEN NEW.back_in_use_at IS NULL THEN 'stopped' ELSE 'back_in_use' END, 'planned', NEW.planned,
      'machineId', NEW.machine_id, 'labelCode', m.label_code, 'warehouseId', NEW.warehouse_id, 'stationId', NEW.station_id, 'failureMode', NEW.failure_mode,
      'failedAt', to_char(NEW.failed_at AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS"Z"'),
      'backInUseAt', to_char(NEW.back_in_use_at AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS"Z"'))
    FROM machine m WHERE m.organisation_id = NEW.organisation_id AND m.id = NEW.machine_id));
  RETURN NULL;
END $$;
CREATE TRIGGER tell_of_stoppage AFTER INSERT OR UPDATE OF back_in_use_at ON stoppage FOR EACH ROW EXECUTE FUNCTION tell_of_stoppage();
