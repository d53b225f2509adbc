-- Roles are cluster-wide, so a second database on the same server finds them already there.
-- tapewarden_app: what api and worker connect as; neither owns a table nor bypasses row-level security.
-- tapewarden_directory: owns the few functions that must look across organisations, and can read only what they need.
DO $$ BEGIN CREATE ROLE tapewarden_app NOLOGIN NOSUPERUSER NOBYPASSRLS NOINHERIT; EXCEPTION WHEN duplicate_object OR unique_violation THEN NULL; END $$;
DO $$ BEGIN CREATE ROLE tapewarden_directory NOLOGIN NOSUPERUSER NOBYPASSRLS NOINHERIT; EXCEPTION WHEN duplicate_object OR unique_violation THEN NULL; END $$;
DO $$ BEGIN EXECUTE format('GRANT tapewarden_directory TO %I', current_user); EXCEPTION WHEN OTHERS THEN NULL; END $$;

CREATE FUNCTION current_organisation() RETURNS uuid LANGUAGE sql STABLE PARALLEL SAFE
  RETURN NULLIF(current_setting('app.organisation_id', true), '')::uuid;

-- ---------------------------------------------------------------- organisation and people

CREATE TABLE organisation (
  id uuid PRIMARY KEY,
  name text NOT NULL CHECK (length(name) BETWEEN 1 AND 200),
  created_at timestamptz NOT NULL
);

CREATE TABLE person (
  organisation_id uuid NOT NULL REFERENCES organisation (id),
  id uuid NOT NULL,
  name text NOT NULL CHECK (length(name) BETWEEN 1 AND 200),
  email text NULL CHECK (length(email) BETWEEN 3 AND 254),
  role text NOT NULL CHECK (role IN ('administrator', 'manager', 'technician', 'instructed')),
  language text NOT NULL DEFAULT 'en',
  units text NOT NULL DEFAULT 'si' CHECK (units IN ('si', 'us')),
  electrically_qualified boolean NOT NULL DEFAULT false,
  password_hash text NULL,
  short_code_hash text NULL,
  lead_days integer NOT NULL DEFAULT 7 CHECK (lead_days BETWEEN 0 AND 120),
  disabled_at timestamptz NULL,
  created_at timestamptz NOT NULL,
  version integer NOT NULL DEFAULT 1,
  PRIMARY KEY (organisation_id, id)
);
-- One address signs in to one organisation; the check is over all organisations on purpose.
CREATE UNIQUE INDEX person_email_key ON person (lower(email)) WHERE email IS NOT NULL;

CREATE TABLE session (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  person_id uuid NOT NULL,
  token_hash bytea NOT NULL,
  created_at timestamptz NOT NULL,
  last_seen_at timestamptz NOT NULL,
  expires_at timestamptz NOT NULL,
  ended_at timestamptz NULL,
  user_agent text NOT NULL DEFAULT '',
  PRIMARY KEY (organisation_id, id),
  FOREIGN KEY (organisation_id, person_id) REFERENCES person (organisation_id, id),
  UNIQUE (token_hash)
);

-- ---------------------------------------------------------------- warehouses and their calendars

CREATE TABLE warehouse (
  organisation_id uuid NOT NULL REFERENCES organisation (id),
  id uuid NOT NULL,
  name text NOT NULL CHECK (length(name) BETWEEN 1 AND 200),
  zone text NOT NULL,
  address text NOT NULL DEFAULT '',
  water_hardness text NOT NULL DEFAULT 'unknown' CHECK (water_hardness IN ('unknown', 'soft', 'medium', 'hard')),
  currency text NOT NULL DEFAULT 'EUR' CHECK (currency ~ '^[A-Z]{3}$'),
  labour_cost_per_hour numeric(12, 2) NULL CHECK (labour_cost_per_hour >= 0),
  stoppage_cost_per_hour numeric(12, 2) NULL CHECK (stoppage_cost_per_hour >= 0),
  units text NOT NULL DEFAULT 'si' CHECK (units IN ('si', 'us')),
  first_person_id uuid NULL,
  second_person_id uuid NULL,
  evidence_version bigint NOT NULL DEFAULT 1,
  planned_version bigint NOT NULL DEFAULT 0,
  planned_on date NULL,
  version integer NOT NULL DEFAULT 1,
  created_at timestamptz NOT NULL,
  PRIMARY KEY (organisation_id, id),
  FOREIGN KEY (organisation_id, first_person_id) REFERENCES person (organisation_id, id),
  FOREIGN KEY (organisation_id, second_person_id) REFERENCES person (organisation_id, id)
);
COMMENT ON COLUMN warehouse.evidence_version IS 'Goes up with every change that can move a date here; the planning pass writes planned_version when it has seen it.';

-- Working week: a weekday with at least one shift is a working day. ISO weekday, Monday = 1. A shift that ends at or before its start ends on the next day.
CREATE TABLE shift (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  warehouse_id uuid NOT NULL,
  weekday smallint NOT NULL CHECK (weekday BETWEEN 1 AND 7),
  starts time NOT NULL,
  ends time NOT NULL,
  PRIMARY KEY (organisation_id, id),
  FOREIGN KEY (organisation_id, warehouse_id) REFERENCES warehouse (organisation_id, id) ON DELETE CASCADE
);
CREATE INDEX shift_warehouse_idx ON shift (organisation_id, warehouse_id);

CREATE TABLE closure (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  warehouse_id uuid NOT NULL,
  from_date date NOT NULL,
  to_date date NOT NULL,
  reason text NOT NULL DEFAULT '',
  PRIMARY KEY (organisation_id, id),
  CHECK (to_date >= from_date),
  FOREIGN KEY (organisation_id, warehouse_id) REFERENCES warehouse (organisation_id, id) ON DELETE CASCADE
);
CREATE INDEX closure_warehouse_idx ON closure (organisation_id, warehouse_id);

CREATE TABLE peak (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  warehouse_id uuid NOT NULL,
  name text NOT NULL DEFAULT '',
  from_date date NOT NULL,
  to_date date NOT NULL,
  usage_multiplier double precision NOT NULL DEFAULT 1 CHECK (usage_multiplier > 0 AND usage_multiplier <= 20),
  bars text NOT NULL DEFAULT 'nothing' CHECK (bars IN ('nothing', 'no_visits', 'short_care_only')),
  PRIMARY KEY (organisation_id, id),
  CHECK (to_date >= from_date),
  FOREIGN KEY (organisation_id, warehouse_id) REFERENCES warehouse (organisation_id, id) ON DELETE CASCADE
);
CREATE INDEX peak_warehouse_idx ON peak (organisation_id, warehouse_id);

CREATE TABLE person_warehouse (
  organisation_id uuid NOT NULL,
  person_id uuid NOT NULL,
  warehouse_id uuid NOT NULL,
  PRIMARY KEY (organisation_id, person_id, warehouse_id),
  FOREIGN KEY (organisation_id, person_id) REFERENCES person (organisation_id, id),
  FOREIGN KEY (organisation_id, warehouse_id) REFERENCES warehouse (organisation_id, id)
);

CREATE TABLE absence (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  person_id uuid NOT NULL,
  from_date date NOT NULL,
  to_date date NOT NULL,
  cover_person_id uuid NULL,
  PRIMARY KEY (organisation_id, id),
  CHECK (to_date >= from_date),
  FOREIGN KEY (organisation_id, person_id) REFERENCES person (organisation_id, id),
  FOREIGN KEY (organisation_id, cover_person_id) REFERENCES person (organisation_id, id)
);

CREATE TABLE station (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  warehouse_id uuid NOT NULL,
  name text NOT NULL CHECK (length(name) BETWEEN 1 AND 100),
  line text NOT NULL DEFAULT '',
  walking_order integer NOT NULL DEFAULT 0,
  if_stopped text NOT NULL DEFAULT 'slows' CHECK (if_stopped IN ('stops', 'slows', 'goes_on')),
  strips_per_carton double precision NULL CHECK (strips_per_carton > 0 AND strips_per_carton <= 100),
  version integer NOT NULL DEFAULT 1,
  PRIMARY KEY (organisation_id, id),
  UNIQUE (organisation_id, warehouse_id, name),
  FOREIGN KEY (organisation_id, warehouse_id) REFERENCES warehouse (organisation_id, id)
);

-- ---------------------------------------------------------------- machine types, plans, machines

CREATE TABLE component_type (
  organisation_id uuid NOT NULL REFERENCES organisation (id),
  id uuid NOT NULL,
  key text NOT NULL CHECK (key ~ '^[a-z][a-z0-9_]{1,60}$'),
  name text NOT NULL,
  PRIMARY KEY (organisation_id, id),
  UNIQUE (organisation_id, key)
);

CREATE TABLE machine_type (
  organisation_id uuid NOT NULL REFERENCES organisation (id),
  id uuid NOT NULL,
  name text NOT NULL CHECK (length(name) BETWEEN 1 AND 200),
  drive text NOT NULL CHECK (drive IN ('electric', 'hand')),
  supply text NOT NULL CHECK (supply IN ('cord_and_plug', 'wired_in', 'none')),
  heater boolean NOT NULL,
  felt_behind_cover boolean NOT NULL DEFAULT false,
  shortest_strip_mm double precision NOT NULL CHECK (shortest_strip_mm > 0),
  longest_strip_mm double precision NOT NULL CHECK (longest_strip_mm > 0),
  length_keys_mm double precision[] NOT NULL DEFAULT '{}',
  free_length boolean NOT NULL DEFAULT false,
  mean_strip_mm double precision NULL CHECK (mean_strip_mm > 0),
  tape_width_mm double precision NULL CHECK (tape_width_mm > 0),
  feed_speed_m_per_min double precision NULL CHECK (feed_speed_m_per_min > 0),
  start_up_seconds_per_strip double precision NULL CHECK (start_up_seconds_per_strip >= 0),
  most_strips_per_minute double precision NULL CHECK (most_strips_per_minute > 0),
  counter_kind text NOT NULL DEFAULT 'none' CHECK (counter_kind IN ('none', 'strips', 'metres')),
  counter_modulus double precision NULL CHECK (counter_modulus > 0),
  usual_strips_per_day double precision NULL CHECK (usual_strips_per_day >= 0),
  brush_new_mm double precision NULL CHECK (brush_new_mm > 0),
  brush_plan_limit_mm double precision NULL CHECK (brush_plan_limit_mm > 0),
  brush_never_below_mm double precision NULL CHECK (brush_never_below_mm > 0),
  strips_from_new_to_plan_limit double precision NULL CHECK (strips_from_new_to_plan_limit > 0),
  strip_tolerance_mm double precision NULL CHECK (strip_tolerance_mm > 0),
  blade_life_unit text NOT NULL DEFAULT 'years' CHECK (blade_life_unit IN ('years', 'strips')),
  version integer NOT NULL DEFAULT 1,
  created_at timestamptz NOT NULL,
  PRIMARY KEY (organisation_id, id),
  UNIQUE (organisation_id, name),
  CHECK (longest_strip_mm >= shortest_strip_mm)
);

CREATE TABLE machine_type_component (
  organisation_id uuid NOT NULL,
  machine_type_id uuid NOT NULL,
  component_type_id uuid NOT NULL,
  PRIMARY KEY (organisation_id, machine_type_id, component_type_id),
  FOREIGN KEY (organisation_id, machine_type_id) REFERENCES machine_type (organisation_id, id) ON DELETE CASCADE,
  FOREIGN KEY (organisation_id, component_type_id) REFERENCES component_type (organisation_id, id)
);

CREATE TABLE instruction (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  person_id uuid NOT NULL,
  machine_type_id uuid NOT NULL,
  instructed_on date NOT NULL,
  instructed_by text NOT NULL,
  PRIMARY KEY (organisation_id, id),
  FOREIGN KEY (organisation_id, person_id) REFERENCES person (organisation_id, id),
  FOREIGN KEY (organisation_id, machine_type_id) REFERENCES machine_type (organisation_id, id)
);

-- A task keeps its id across versions of the plan; what it says stands in plan_task.
CREATE TABLE service_task (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  machine_type_id uuid NOT NULL,
  key text NOT NULL CHECK (key ~ '^[a-z][a-z0-9_]{1,60}$'),
  PRIMARY KEY (organisation_id, id),
  UNIQUE (organisation_id, machine_type_id, key),
  FOREIGN KEY (organisation_id, machine_type_id) REFERENCES machine_type (organisation_id, id)
);

CREATE TABLE service_plan (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  machine_type_id uuid NOT NULL,
  plan_version integer NOT NULL CHECK (plan_version >= 1),
  valid_from date NOT NULL,
  note text NOT NULL DEFAULT '',
  created_by uuid NULL,
  created_at timestamptz NOT NULL,
  PRIMARY KEY (organisation_id, id),
  UNIQUE (organisation_id, machine_type_id, plan_version),
  FOREIGN KEY (organisation_id, machine_type_id) REFERENCES machine_type (organisation_id, id),
  FOREIGN KEY (organisation_id, created_by) REFERENCES person (organisation_id, id)
);

-- triggers, steps, measurements, cautions, parts: arrays checked by the schemas in shared/.
CREATE TABLE plan_task (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  service_plan_id uuid NOT NULL,
  service_task_id uuid NOT NULL,
  position integer NOT NULL,
  name text NOT NULL,
  component_type_id uuid NULL,
  minutes double precision NOT NULL CHECK (minutes > 0),
  skill text NOT NULL CHECK (skill IN ('instructed', 'technician', 'electrical')),
  reach text NOT NULL CHECK (reach IN ('outside', 'cover_off', 'inside')),
  at_the_bench boolean NOT NULL DEFAULT false,
  safety_check boolean NOT NULL DEFAULT false,
  uses_solvent boolean NOT NULL DEFAULT false,
  overrun_counts boolean NOT NULL DEFAULT false,
  triggers jsonb NOT NULL,
  steps jsonb NOT NULL DEFAULT '[]',
  measurements jsonb NOT NULL DEFAULT '[]',
  cautions jsonb NOT NULL DEFAULT '[]',
  parts jsonb NOT NULL DEFAULT '[]',
  PRIMARY KEY (organisation_id, id),
  UNIQUE (organisation_id, service_plan_id, service_task_id),
  FOREIGN KEY (organisation_id, service_plan_id) REFERENCES service_plan (organisation_id, id) ON DELETE CASCADE,
  FOREIGN KEY (organisation_id, service_task_id) REFERENCES service_task (organisation_id, id),
  FOREIGN KEY (organisation_id, component_type_id) REFERENCES component_type (organisation_id, id)
);

CREATE TABLE machine (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  machine_type_id uuid NOT NULL,
  serial_number text NOT NULL CHECK (length(serial_number) BETWEEN 1 AND 100),
  label_code text NOT NULL CHECK (length(label_code) BETWEEN 2 AND 40),
  commissioned_on date NULL,
  registered_on date NOT NULL,
  owner text NOT NULL DEFAULT 'own' CHECK (owner IN ('own', 'lent', 'leased')),
  warranty_until date NULL,
  service_firm text NOT NULL DEFAULT '',
  service_telephone text NOT NULL DEFAULT '',
  may_open text NOT NULL DEFAULT 'our_technicians' CHECK (may_open IN ('our_technicians', 'service_firm_only')),
  tape text NOT NULL DEFAULT 'unknown' CHECK (tape IN ('unknown', 'plain', 'reinforced')),
  status text NOT NULL DEFAULT 'in_service' CHECK (status IN ('in_service', 'on_the_shelf', 'at_the_bench', 'away_for_repair', 'tagged_out', 'not_found', 'retired')),
  status_since date NOT NULL,
  note text NOT NULL DEFAULT '',
  version integer NOT NULL DEFAULT 1,
  created_at timestamptz NOT NULL,
  PRIMARY KEY (organisation_id, id),
  UNIQUE (organisation_id, label_code),
  UNIQUE (organisation_id, machine_type_id, serial_number),
  FOREIGN KEY (organisation_id, machine_type_id) REFERENCES machine_type (organisation_id, id)
);
COMMENT ON COLUMN machine.commissioned_on IS 'NULL: not known.';

CREATE TABLE machine_status_period (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  machine_id uuid NOT NULL,
  status text NOT NULL CHECK (status IN ('in_service', 'on_the_shelf', 'at_the_bench', 'away_for_repair', 'tagged_out', 'not_found', 'retired')),
  from_at timestamptz NOT NULL,
  to_at timestamptz NULL,
  reason text NOT NULL DEFAULT '',
  person_id uuid NULL,
  PRIMARY KEY (organisation_id, id),
  CHECK (to_at >= from_at),
  FOREIGN KEY (organisation_id, machine_id) REFERENCES machine (organisation_id, id)
);
CREATE UNIQUE INDEX machine_status_period_open_key ON machine_status_period (organisation_id, machine_id) WHERE to_at IS NULL;

-- Where a machine stood. station_id NULL: in the warehouse but at no station (shelf, bench).
CREATE TABLE placement (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  machine_id uuid NOT NULL,
  warehouse_id uuid NOT NULL,
  station_id uuid NULL,
  from_at timestamptz NOT NULL,
  to_at timestamptz NULL,
  share_of_station double precision NOT NULL DEFAULT 1 CHECK (share_of_station > 0 AND share_of_station <= 1),
  PRIMARY KEY (organisation_id, id),
  CHECK (to_at >= from_at),
  FOREIGN KEY (organisation_id, machine_id) REFERENCES machine (organisation_id, id),
  FOREIGN KEY (organisation_id, warehouse_id) REFERENCES warehouse (organisation_id, id),
  FOREIGN KEY (organisation_id, station_id) REFERENCES station (organisation_id, id)
);
CREATE UNIQUE INDEX placement_open_key ON placement (organisation_id, machine_id) WHERE to_at IS NULL;
CREATE INDEX placement_warehouse_idx ON placement (organisation_id, warehouse_id, machine_id) WHERE to_at IS NULL;
CREATE INDEX placement_station_idx ON placement (organisation_id, station_id);

CREATE TABLE component (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  component_type_id uuid NOT NULL,
  new_on date NULL,
  counts_in_life_data boolean NOT NULL DEFAULT true,
  note text NOT NULL DEFAULT '',
  PRIMARY KEY (organisation_id, id),
  FOREIGN KEY (organisation_id, component_type_id) REFERENCES component_type (organisation_id, id)
);
COMMENT ON COLUMN component.new_on IS 'Local day on which it was first fitted as a new part; NULL: not known.';

CREATE TABLE component_placement (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  component_id uuid NOT NULL,
  machine_id uuid NOT NULL,
  from_date date NULL,
  to_date date NULL,
  removal_reason text NULL CHECK (removal_reason IN ('worn', 'broken', 'planned', 'moved', 'unknown')),
  used_strips_before double precision NOT NULL DEFAULT 0 CHECK (used_strips_before >= 0),
  PRIMARY KEY (organisation_id, id),
  CHECK (to_date >= from_date),
  CHECK ((to_date IS NULL) = (removal_reason IS NULL)),
  FOREIGN KEY (organisation_id, component_id) REFERENCES component (organisation_id, id),
  FOREIGN KEY (organisation_id, machine_id) REFERENCES machine (organisation_id, id)
);
COMMENT ON COLUMN component_placement.from_date IS 'NULL: installed before the machine was registered, day not known.';
COMMENT ON COLUMN component_placement.used_strips_before IS 'Strips it had done in earlier placements.';
CREATE UNIQUE INDEX component_placement_open_key ON component_placement (organisation_id, component_id) WHERE to_date IS NULL;
CREATE INDEX component_placement_machine_idx ON component_placement (organisation_id, machine_id);

-- ---------------------------------------------------------------- evidence of use and the ledger

-- kind and its value: counter_reading (absolute, at at_time) | strips_day, cartons_day (amount on from_date)
-- | rolls (rolls used between from_date and to_date, detail holds roll metres) | monthly_tap (detail.runs) | counter_replaced (first reading of the new one)
CREATE TABLE evidence (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  kind text NOT NULL CHECK (kind IN ('counter_reading', 'counter_replaced', 'strips_day', 'cartons_day', 'rolls', 'monthly_tap')),
  warehouse_id uuid NOT NULL,
  machine_id uuid NULL,
  station_id uuid NULL,
  at_time timestamptz NULL,
  from_date date NOT NULL,
  to_date date NOT NULL,
  amount double precision NULL,
  detail jsonb NOT NULL DEFAULT '{}',
  source text NOT NULL,
  external_id text NULL,
  person_id uuid NULL,
  state text NOT NULL DEFAULT 'counted' CHECK (state IN ('counted', 'set_aside', 'dismissed', 'corrected')),
  set_aside_code text NULL,
  set_aside_reason text NULL,
  corrects_id uuid NULL,
  created_at timestamptz NOT NULL,
  PRIMARY KEY (organisation_id, id),
  CHECK (to_date >= from_date),
  CHECK ((machine_id IS NULL) <> (station_id IS NULL) OR state <> 'counted'),
  FOREIGN KEY (organisation_id, warehouse_id) REFERENCES warehouse (organisation_id, id),
  FOREIGN KEY (organisation_id, machine_id) REFERENCES machine (organisation_id, id),
  FOREIGN KEY (organisation_id, station_id) REFERENCES station (organisation_id, id)
);
CREATE INDEX evidence_machine_idx ON evidence (organisation_id, machine_id, from_date);
CREATE INDEX evidence_station_idx ON evidence (organisation_id, station_id, from_date) WHERE station_id IS NOT NULL;
CREATE INDEX evidence_set_aside_idx ON evidence (organisation_id, warehouse_id) WHERE state = 'set_aside';

-- 'The same evidence twice' is decided here.
CREATE TABLE evidence_key (
  organisation_id uuid NOT NULL,
  source text NOT NULL,
  external_id text NOT NULL,
  evidence_id uuid NOT NULL,
  PRIMARY KEY (organisation_id, source, external_id)
);

-- One row a machine and local day on which something is known or inferred. strips_total is the running sum
-- (machine's whole life so far), so that 'used since' is a difference of two rows.
CREATE TABLE ledger_day (
  organisation_id uuid NOT NULL,
  machine_id uuid NOT NULL,
  day date NOT NULL,
  warehouse_id uuid NOT NULL,
  strips double precision NOT NULL CHECK (strips >= 0),
  metres double precision NOT NULL CHECK (metres >= 0),
  motor_minutes double precision NOT NULL CHECK (motor_minutes >= 0),
  strips_total double precision NOT NULL,
  kind text NOT NULL CHECK (kind IN ('counter', 'strips', 'cartons', 'rolls', 'tap')),
  relative_error double precision NOT NULL CHECK (relative_error >= 0),
  PRIMARY KEY (organisation_id, machine_id, day),
  FOREIGN KEY (organisation_id, machine_id) REFERENCES machine (organisation_id, id)
);

-- ---------------------------------------------------------------- forecasts and occurrences

CREATE TABLE forecast (
  organisation_id uuid NOT NULL,
  machine_id uuid NOT NULL,
  service_task_id uuid NOT NULL,
  plan_task_id uuid NOT NULL,
  warehouse_id uuid NOT NULL,
  state text NOT NULL CHECK (state IN ('dated', 'first_look', 'no_date', 'paused', 'cannot_be_computed')),
  early_on date NULL,
  likely_on date NULL,
  late_on date NULL,
  no_later_than date NULL,
  governing_trigger text NULL,
  basis jsonb NOT NULL DEFAULT '{}',
  reason text NULL,
  computed_on date NOT NULL,
  PRIMARY KEY (organisation_id, machine_id, service_task_id),
  FOREIGN KEY (organisation_id, machine_id) REFERENCES machine (organisation_id, id),
  FOREIGN KEY (organisation_id, service_task_id) REFERENCES service_task (organisation_id, id),
  FOREIGN KEY (organisation_id, plan_task_id) REFERENCES plan_task (organisation_id, id)
);
COMMENT ON COLUMN forecast.basis IS 'Every number of the why-sentence, as stored by the pass.';
CREATE INDEX forecast_due_idx ON forecast (organisation_id, warehouse_id, likely_on);

-- What the pass last wrote of a machine, so that it writes again only what changed, without reading it back.
CREATE TABLE planning_state (
  organisation_id uuid NOT NULL,
  machine_id uuid NOT NULL,
  ledger_months jsonb NOT NULL DEFAULT '{}',
  forecast_digest text NOT NULL DEFAULT '',
  PRIMARY KEY (organisation_id, machine_id),
  FOREIGN KEY (organisation_id, machine_id) REFERENCES machine (organisation_id, id)
);
COMMENT ON COLUMN planning_state.ledger_months IS 'A digest of the ledger rows by month: {"2026-03": "…"}.';

CREATE TABLE occurrence (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  machine_id uuid NOT NULL,
  service_task_id uuid NOT NULL,
  plan_task_id uuid NOT NULL,
  warehouse_id uuid NOT NULL,
  component_id uuid NULL,
  sequence integer NOT NULL CHECK (sequence >= 1),
  kind text NOT NULL CHECK (kind IN ('regular', 'monthly', 'first_look', 'finding', 'situation', 'wake_up', 'put_off')),
  state text NOT NULL CHECK (state IN ('open', 'done', 'skipped', 'superseded')),
  opened_on date NOT NULL,
  nominal_on date NOT NULL,
  window_from date NOT NULL,
  window_to date NOT NULL,
  hard_limit_on date NULL,
  due_on date NOT NULL,
  late_from date NULL,
  needs_person boolean NOT NULL DEFAULT false,
  governing_trigger text NOT NULL,
  basis jsonb NOT NULL DEFAULT '{}',
  said_on date NULL,
  said_due_on date NULL,
  ended_on date NULL,
  end_reason text NULL,
  done_on date NULL,
  done_by uuid NULL,
  counted_as_missed boolean NOT NULL DEFAULT false,
  version integer NOT NULL DEFAULT 1,
  created_at timestamptz NOT NULL,
  PRIMARY KEY (organisation_id, id),
  UNIQUE (organisation_id, machine_id, service_task_id, sequence),
  CHECK ((state = 'open') = (ended_on IS NULL)),
  CHECK ((state = 'done') = (done_on IS NOT NULL)),
  FOREIGN KEY (organisation_id, machine_id) REFERENCES machine (organisation_id, id),
  FOREIGN KEY (organisation_id, service_task_id) REFERENCES service_task (organisation_id, id),
  FOREIGN KEY (organisation_id, plan_task_id) REFERENCES plan_task (organisation_id, id),
  FOREIGN KEY (organisation_id, component_id) REFERENCES component (organisation_id, id),
  FOREIGN KEY (organisation_id, warehouse_id) REFERENCES warehouse (organisation_id, id)
);
CREATE UNIQUE INDEX occurrence_open_key ON occurrence (organisation_id, machine_id, service_task_id) WHERE state = 'open';
CREATE INDEX occurrence_due_idx ON occurrence (organisation_id, warehouse_id, due_on) WHERE state = 'open';

-- What was done, task by task; the clocks of rules 2, 3 and 5 start from the newest row.
-- anchor_on + anchor_steps: months count from the anchor's own date, so that points do not creep.
CREATE TABLE service_record (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  machine_id uuid NOT NULL,
  service_task_id uuid NOT NULL,
  component_id uuid NULL,
  occurrence_id uuid NULL,
  work_order_id uuid NULL,
  done_on date NOT NULL,
  done_at timestamptz NOT NULL,
  person_id uuid NULL,
  person_name text NOT NULL DEFAULT '',
  source text NOT NULL CHECK (source IN ('work_order', 'round', 'mail_link', 'import', 'registration')),
  anchor_on date NOT NULL,
  anchor_steps integer NOT NULL DEFAULT 0,
  strips_total double precision NULL,
  settles boolean NOT NULL DEFAULT true,
  note text NOT NULL DEFAULT '',
  created_at timestamptz NOT NULL,
  PRIMARY KEY (organisation_id, id),
  FOREIGN KEY (organisation_id, machine_id) REFERENCES machine (organisation_id, id),
  FOREIGN KEY (organisation_id, service_task_id) REFERENCES service_task (organisation_id, id),
  FOREIGN KEY (organisation_id, component_id) REFERENCES component (organisation_id, id),
  FOREIGN KEY (organisation_id, occurrence_id) REFERENCES occurrence (organisation_id, id)
);
CREATE INDEX service_record_machine_idx ON service_record (organisation_id, machine_id, service_task_id, done_on DESC);

CREATE TABLE situation (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  machine_id uuid NOT NULL,
  kind text NOT NULL CHECK (kind IN ('moved', 'brushes_replaced', 'jam_storm', 'new_tape', 'back_in_service', 'before_peak')),
  happened_on date NOT NULL,
  note text NOT NULL DEFAULT '',
  created_at timestamptz NOT NULL,
  PRIMARY KEY (organisation_id, id),
  FOREIGN KEY (organisation_id, machine_id) REFERENCES machine (organisation_id, id)
);
CREATE INDEX situation_machine_idx ON situation (organisation_id, machine_id, happened_on);

-- ---------------------------------------------------------------- visits, work orders, findings, measurements

CREATE TABLE visit (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  warehouse_id uuid NOT NULL,
  technician_id uuid NULL,
  visit_on date NOT NULL,
  note text NOT NULL DEFAULT '',
  version integer NOT NULL DEFAULT 1,
  PRIMARY KEY (organisation_id, id),
  FOREIGN KEY (organisation_id, warehouse_id) REFERENCES warehouse (organisation_id, id),
  FOREIGN KEY (organisation_id, technician_id) REFERENCES person (organisation_id, id)
);

CREATE TABLE work_order (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  number integer NOT NULL,
  machine_id uuid NOT NULL,
  warehouse_id uuid NOT NULL,
  visit_id uuid NULL,
  technician_id uuid NULL,
  state text NOT NULL CHECK (state IN ('drafted', 'issued', 'accepted', 'under_way', 'waiting', 'done', 'looked_over', 'returned', 'cancelled')),
  waiting_for text NULL CHECK (waiting_for IN ('part', 'access', 'second_person')),
  planned_on date NULL,
  cautions_acknowledged_at timestamptz NULL,
  cautions_acknowledged_by uuid NULL,
  started_at timestamptz NULL,
  finished_at timestamptz NULL,
  minutes_worked double precision NULL CHECK (minutes_worked >= 0),
  tagged_out boolean NOT NULL DEFAULT false,
  function_check jsonb NULL,
  cancel_reason text NULL,
  note text NOT NULL DEFAULT '',
  last_entry_at timestamptz NULL,
  version integer NOT NULL DEFAULT 1,
  created_at timestamptz NOT NULL,
  PRIMARY KEY (organisation_id, id),
  UNIQUE (organisation_id, number),
  FOREIGN KEY (organisation_id, machine_id) REFERENCES machine (organisation_id, id),
  FOREIGN KEY (organisation_id, warehouse_id) REFERENCES warehouse (organisation_id, id),
  FOREIGN KEY (organisation_id, visit_id) REFERENCES visit (organisation_id, id),
  FOREIGN KEY (organisation_id, technician_id) REFERENCES person (organisation_id, id)
);
CREATE INDEX work_order_open_idx ON work_order (organisation_id, warehouse_id, state);

CREATE TABLE work_order_number (
  organisation_id uuid PRIMARY KEY REFERENCES organisation (id),
  last_number integer NOT NULL
);

CREATE TABLE work_order_task (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  work_order_id uuid NOT NULL,
  occurrence_id uuid NOT NULL,
  plan_task_id uuid NOT NULL,
  position integer NOT NULL,
  outcome text NULL CHECK (outcome IN ('done', 'not_done')),
  not_done_reason text NULL,
  done_at timestamptz NULL,
  done_by uuid NULL,
  answers jsonb NOT NULL DEFAULT '{}',
  PRIMARY KEY (organisation_id, id),
  UNIQUE (organisation_id, work_order_id, occurrence_id),
  FOREIGN KEY (organisation_id, work_order_id) REFERENCES work_order (organisation_id, id) ON DELETE CASCADE,
  FOREIGN KEY (organisation_id, occurrence_id) REFERENCES occurrence (organisation_id, id),
  FOREIGN KEY (organisation_id, plan_task_id) REFERENCES plan_task (organisation_id, id)
);
COMMENT ON COLUMN work_order_task.answers IS 'Step answers as given: {stepKey: {answer, at, by}}.';
CREATE INDEX work_order_task_occurrence_idx ON work_order_task (organisation_id, occurrence_id);

-- Every entry typed on site, with the id that the phone made; the same entry twice is one row.
CREATE TABLE work_entry (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  work_order_id uuid NULL,
  machine_id uuid NOT NULL,
  occurrence_id uuid NULL,
  person_id uuid NULL,
  kind text NOT NULL,
  content jsonb NOT NULL,
  made_at timestamptz NOT NULL,
  received_at timestamptz NOT NULL,
  outcome text NOT NULL DEFAULT 'applied' CHECK (outcome IN ('applied', 'kept_as_evidence', 'conflict', 'refused')),
  outcome_reason text NULL,
  PRIMARY KEY (organisation_id, id),
  FOREIGN KEY (organisation_id, machine_id) REFERENCES machine (organisation_id, id),
  FOREIGN KEY (organisation_id, work_order_id) REFERENCES work_order (organisation_id, id)
);
CREATE INDEX work_entry_order_idx ON work_entry (organisation_id, work_order_id);

CREATE TABLE measurement (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  machine_id uuid NOT NULL,
  component_id uuid NULL,
  service_record_id uuid NULL,
  work_order_id uuid NULL,
  name text NOT NULL,
  value_mm double precision NOT NULL CHECK (value_mm >= 0),
  entered_unit text NOT NULL DEFAULT 'mm' CHECK (entered_unit IN ('mm', 'in')),
  entered_text text NOT NULL DEFAULT '',
  when_taken text NOT NULL DEFAULT 'as_found' CHECK (when_taken IN ('as_found', 'as_left')),
  measured_on date NOT NULL,
  state text NOT NULL DEFAULT 'counted' CHECK (state IN ('counted', 'set_aside', 'dismissed')),
  set_aside_reason text NULL,
  created_at timestamptz NOT NULL,
  PRIMARY KEY (organisation_id, id),
  FOREIGN KEY (organisation_id, machine_id) REFERENCES machine (organisation_id, id),
  FOREIGN KEY (organisation_id, component_id) REFERENCES component (organisation_id, id),
  FOREIGN KEY (organisation_id, service_record_id) REFERENCES service_record (organisation_id, id),
  FOREIGN KEY (organisation_id, work_order_id) REFERENCES work_order (organisation_id, id)
);
CREATE INDEX measurement_component_idx ON measurement (organisation_id, component_id, measured_on);
CREATE INDEX measurement_machine_idx ON measurement (organisation_id, machine_id, measured_on);

CREATE TABLE finding (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  machine_id uuid NOT NULL,
  component_id uuid NULL,
  work_order_id uuid NULL,
  service_task_id uuid NULL,
  found_on date NOT NULL,
  within_days integer NULL CHECK (within_days BETWEEN 0 AND 400),
  due_on date NULL,
  text text NOT NULL,
  safety boolean NOT NULL DEFAULT false,
  settled_on date NULL,
  settled_by_record_id uuid NULL,
  created_at timestamptz NOT NULL,
  PRIMARY KEY (organisation_id, id),
  FOREIGN KEY (organisation_id, machine_id) REFERENCES machine (organisation_id, id),
  FOREIGN KEY (organisation_id, component_id) REFERENCES component (organisation_id, id),
  FOREIGN KEY (organisation_id, work_order_id) REFERENCES work_order (organisation_id, id),
  FOREIGN KEY (organisation_id, service_task_id) REFERENCES service_task (organisation_id, id),
  FOREIGN KEY (organisation_id, settled_by_record_id) REFERENCES service_record (organisation_id, id)
);
CREATE INDEX finding_open_idx ON finding (organisation_id, machine_id) WHERE settled_on IS NULL;

-- The moments are stored; durations are derived from them.
CREATE TABLE stoppage (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  machine_id uuid NOT NULL,
  warehouse_id uuid NOT NULL,
  station_id uuid NULL,
  planned boolean NOT NULL DEFAULT false,
  failed_at timestamptz NOT NULL,
  noticed_at timestamptz NULL,
  reported_at timestamptz NULL,
  work_begun_at timestamptz NULL,
  repaired_at timestamptz NULL,
  checked_at timestamptz NULL,
  back_in_use_at timestamptz NULL,
  waits jsonb NOT NULL DEFAULT '[]',
  failure_mode text NOT NULL DEFAULT 'unknown',
  component_type_id uuid NULL,
  cause text NOT NULL DEFAULT 'unknown',
  noticed_how text NOT NULL DEFAULT 'unknown',
  reported_by text NOT NULL DEFAULT '',
  work_order_id uuid NULL,
  note text NOT NULL DEFAULT '',
  version integer NOT NULL DEFAULT 1,
  created_at timestamptz NOT NULL,
  PRIMARY KEY (organisation_id, id),
  CHECK (back_in_use_at >= failed_at),
  FOREIGN KEY (organisation_id, machine_id) REFERENCES machine (organisation_id, id),
  FOREIGN KEY (organisation_id, warehouse_id) REFERENCES warehouse (organisation_id, id),
  FOREIGN KEY (organisation_id, station_id) REFERENCES station (organisation_id, id),
  FOREIGN KEY (organisation_id, component_type_id) REFERENCES component_type (organisation_id, id),
  FOREIGN KEY (organisation_id, work_order_id) REFERENCES work_order (organisation_id, id)
);
CREATE INDEX stoppage_machine_idx ON stoppage (organisation_id, machine_id, failed_at);
CREATE INDEX stoppage_warehouse_idx ON stoppage (organisation_id, warehouse_id, failed_at);

-- ---------------------------------------------------------------- parts

CREATE TABLE part (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  name text NOT NULL,
  stock_code text NOT NULL,
  component_type_id uuid NULL,
  price numeric(12, 2) NULL CHECK (price >= 0),
  PRIMARY KEY (organisation_id, id),
  UNIQUE (organisation_id, stock_code),
  FOREIGN KEY (organisation_id, component_type_id) REFERENCES component_type (organisation_id, id)
);

CREATE TABLE part_fit (
  organisation_id uuid NOT NULL,
  part_id uuid NOT NULL,
  machine_type_id uuid NOT NULL,
  PRIMARY KEY (organisation_id, part_id, machine_type_id),
  FOREIGN KEY (organisation_id, part_id) REFERENCES part (organisation_id, id) ON DELETE CASCADE,
  FOREIGN KEY (organisation_id, machine_type_id) REFERENCES machine_type (organisation_id, id)
);

CREATE TABLE part_stock (
  organisation_id uuid NOT NULL,
  part_id uuid NOT NULL,
  warehouse_id uuid NOT NULL,
  on_hand integer NOT NULL DEFAULT 0 CHECK (on_hand >= 0),
  reserved integer NOT NULL DEFAULT 0 CHECK (reserved >= 0),
  on_order integer NOT NULL DEFAULT 0 CHECK (on_order >= 0),
  lead_time_days integer NOT NULL DEFAULT 14 CHECK (lead_time_days BETWEEN 0 AND 400),
  PRIMARY KEY (organisation_id, part_id, warehouse_id),
  FOREIGN KEY (organisation_id, part_id) REFERENCES part (organisation_id, id),
  FOREIGN KEY (organisation_id, warehouse_id) REFERENCES warehouse (organisation_id, id)
);

CREATE TABLE part_use (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  part_id uuid NOT NULL,
  warehouse_id uuid NOT NULL,
  machine_id uuid NOT NULL,
  work_order_id uuid NULL,
  quantity integer NOT NULL CHECK (quantity > 0),
  used_at timestamptz NOT NULL,
  PRIMARY KEY (organisation_id, id),
  FOREIGN KEY (organisation_id, part_id) REFERENCES part (organisation_id, id),
  FOREIGN KEY (organisation_id, warehouse_id) REFERENCES warehouse (organisation_id, id),
  FOREIGN KEY (organisation_id, machine_id) REFERENCES machine (organisation_id, id),
  FOREIGN KEY (organisation_id, work_order_id) REFERENCES work_order (organisation_id, id)
);

-- ---------------------------------------------------------------- reminders and messages

CREATE TABLE reminder (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  occurrence_id uuid NOT NULL,
  stage text NOT NULL CHECK (stage IN ('coming_due', 'due', 'late', 'passed_on_1', 'passed_on_2', 'passed_on_3', 'past_hard_limit', 'hard_limit_tomorrow', 'safety_finding', 'earlier_than_said', 'first_look_missed', 'month_list', 'month_last_week')),
  person_id uuid NOT NULL,
  warehouse_id uuid NOT NULL,
  class text NOT NULL CHECK (class IN ('digest', 'urgent')),
  say_on date NOT NULL,
  message_id uuid NULL,
  dropped_reason text NULL,
  created_at timestamptz NOT NULL,
  PRIMARY KEY (organisation_id, id),
  UNIQUE (organisation_id, occurrence_id, stage, person_id),
  FOREIGN KEY (organisation_id, occurrence_id) REFERENCES occurrence (organisation_id, id),
  FOREIGN KEY (organisation_id, person_id) REFERENCES person (organisation_id, id),
  FOREIGN KEY (organisation_id, warehouse_id) REFERENCES warehouse (organisation_id, id)
);
CREATE INDEX reminder_unsaid_idx ON reminder (organisation_id, warehouse_id, say_on) WHERE message_id IS NULL AND dropped_reason IS NULL;

CREATE TABLE message (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  person_id uuid NOT NULL,
  warehouse_id uuid NULL,
  local_day date NOT NULL,
  class text NOT NULL CHECK (class IN ('digest', 'urgent', 'account')),
  class_key text NOT NULL DEFAULT '',
  state text NOT NULL CHECK (state IN ('pending', 'claimed', 'handing_over', 'sent', 'uncertain', 'failed', 'expired')),
  send_after timestamptz NOT NULL,
  expires_at timestamptz NOT NULL,
  attempts integer NOT NULL DEFAULT 0,
  lease_until timestamptz NULL,
  fencing bigint NOT NULL DEFAULT 0,
  to_address text NULL,
  subject text NULL,
  content jsonb NOT NULL DEFAULT '{}',
  last_error text NULL,
  handed_over_at timestamptz NULL,
  sent_at timestamptz NULL,
  created_at timestamptz NOT NULL,
  PRIMARY KEY (organisation_id, id),
  FOREIGN KEY (organisation_id, person_id) REFERENCES person (organisation_id, id),
  FOREIGN KEY (organisation_id, warehouse_id) REFERENCES warehouse (organisation_id, id)
);
-- One message a person, warehouse, local day and class; class_key tells urgent causes apart.
CREATE UNIQUE INDEX message_once_key ON message (organisation_id, person_id, COALESCE(warehouse_id, '00000000-0000-0000-0000-000000000000'::uuid), local_day, class, class_key);
CREATE INDEX message_due_idx ON message (state, send_after) WHERE state IN ('pending', 'claimed', 'handing_over');
ALTER TABLE reminder ADD FOREIGN KEY (organisation_id, message_id) REFERENCES message (organisation_id, id);

-- ---------------------------------------------------------------- what happened, and requests

CREATE TABLE audit_entry (
  organisation_id uuid NOT NULL REFERENCES organisation (id),
  id uuid NOT NULL,
  at timestamptz NOT NULL,
  person_id uuid NULL,
  actor text NOT NULL,
  action text NOT NULL,
  subject_kind text NOT NULL,
  subject_id uuid NULL,
  before jsonb NULL,
  after jsonb NULL,
  request_id text NULL,
  PRIMARY KEY (organisation_id, id)
);
CREATE INDEX audit_entry_subject_idx ON audit_entry (organisation_id, subject_kind, subject_id, at);

CREATE TABLE idempotency_key (
  organisation_id uuid NOT NULL REFERENCES organisation (id),
  key text NOT NULL CHECK (length(key) BETWEEN 1 AND 255),
  route text NOT NULL,
  body_hash bytea NOT NULL,
  status integer NULL,
  response jsonb NULL,
  created_at timestamptz NOT NULL,
  PRIMARY KEY (organisation_id, key)
);

-- ---------------------------------------------------------------- tenant guard

DO $$
DECLARE t text;
BEGIN
  FOR t IN SELECT tablename FROM pg_tables WHERE schemaname = 'public' LOOP
    EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', t);
    EXECUTE format('ALTER TABLE %I FORCE ROW LEVEL SECURITY', t);
    EXECUTE format('CREATE POLICY own_organisation ON %I TO tapewarden_app USING (%I = current_organisation()) WITH CHECK (%I = current_organisation())',
      t, CASE WHEN t = 'organisation' THEN 'id' ELSE 'organisation_id' END, CASE WHEN t = 'organisation' THEN 'id' ELSE 'organisation_id' END);
    EXECUTE format('GRANT SELECT, INSERT, UPDATE, DELETE ON %I TO tapewarden_app', t);
  END LOOP;
END $$;
REVOKE UPDATE, DELETE ON audit_entry FROM tapewarden_app;
REVOKE DELETE ON evidence, service_record, occurrence, measurement, stoppage, message, reminder, work_entry, person, machine FROM tapewarden_app;
GRANT USAGE ON SCHEMA public TO tapewarden_app, tapewarden_directory;

-- The few questions that cross organisations: who signs in, whose session is this, which organisations have work.
GRANT SELECT (id, name) ON organisation TO tapewarden_directory;
GRANT SELECT (organisation_id, id, email, password_hash, disabled_at) ON person TO tapewarden_directory;
GRANT SELECT (organisation_id, id, person_id, token_hash, expires_at, ended_at) ON session TO tapewarden_directory;
CREATE POLICY directory_reads ON organisation FOR SELECT TO tapewarden_directory USING (true);
CREATE POLICY directory_reads ON person FOR SELECT TO tapewarden_directory USING (true);
CREATE POLICY directory_reads ON session FOR SELECT TO tapewarden_directory USING (true);

CREATE FUNCTION directory_organisations() RETURNS TABLE (organisation_id uuid)
  LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public, pg_temp
  AS 'SELECT id FROM organisation ORDER BY id';
CREATE FUNCTION directory_person_by_email(asked text) RETURNS TABLE (organisation_id uuid, person_id uuid, password_hash text, disabled boolean)
  LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public, pg_temp
  AS 'SELECT organisation_id, id, password_hash, disabled_at IS NOT NULL FROM person WHERE lower(email) = lower(asked)';
CREATE FUNCTION directory_session(asked bytea) RETURNS TABLE (organisation_id uuid, session_id uuid, person_id uuid)
  LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public, pg_temp
  AS 'SELECT organisation_id, id, person_id FROM session WHERE token_hash = asked AND ended_at IS NULL AND expires_at > clock_timestamp()';
-- An owner who is no superuser may give a function only to a role that may create in its schema.
GRANT CREATE ON SCHEMA public TO tapewarden_directory;
ALTER FUNCTION directory_organisations() OWNER TO tapewarden_directory;
ALTER FUNCTION directory_person_by_email(text) OWNER TO tapewarden_directory;
ALTER FUNCTION directory_session(bytea) OWNER TO tapewarden_directory;
REVOKE CREATE ON SCHEMA public FROM tapewarden_directory;
REVOKE ALL ON FUNCTION directory_organisations(), directory_person_by_email(text), directory_session(bytea) FROM PUBLIC;
GRANT EXECUTE ON FUNCTION directory_organisations(), directory_person_by_email(text), directory_session(bytea) TO tapewarden_app;

-- ---------------------------------------------------------------- the queue's own room

-- Where QUEUE_URL names this database: the queue's library keeps its tables here and changes them itself.
CREATE SCHEMA bullmq;
GRANT USAGE, CREATE ON SCHEMA bullmq TO tapewarden_app;
