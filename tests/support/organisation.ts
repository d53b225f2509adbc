/** A small organisation with at least one row in every table, for tests of the guards. Dates are fixed. */
import { newId } from '@tapewarden/platform'
import type { NewRow } from '@tapewarden/persistence'

const AT = '2026-03-02T08:00:00Z'

export interface SmallOrganisation {
  organisationId: string
  ids: Readonly<
    Record<
      | 'manager'
      | 'technician'
      | 'warehouse'
      | 'station'
      | 'machineType'
      | 'task'
      | 'planTask'
      | 'machine'
      | 'component'
      | 'occurrence'
      | 'workOrder'
      | 'imported'
      | 'webhook',
      string
    >
  >
  rows: Record<string, NewRow[]>
}

function placeRows(organisationId: string, ids: SmallOrganisation['ids'], word: string): Record<string, NewRow[]> {
  return {
    organisation: [{ id: organisationId, name: `Organisation ${word}`, created_at: AT }],
    person: [
      { id: ids.manager, name: 'Mara', email: `mara.${word}@example.org`, role: 'manager', created_at: AT },
      { id: ids.technician, name: 'Tom', email: `tom.${word}@example.org`, role: 'technician', created_at: AT },
    ],
    session: [
      {
        id: newId(),
        person_id: ids.manager,
        token_hash: `\\x${Buffer.from(organisationId).toString('hex')}`,
        created_at: AT,
        last_seen_at: AT,
        expires_at: '2036-01-01T00:00:00Z',
      },
    ],
    warehouse: [
      {
        id: ids.warehouse,
        name: 'North',
        zone: 'Europe/Berlin',
        first_person_id: ids.manager,
        second_person_id: ids.technician,
        created_at: AT,
      },
    ],
    shared_tablet: [
      {
        id: newId(),
        warehouse_id: ids.warehouse,
        name: 'Dock',
        secret_hash: `\\x${Buffer.from(`tablet ${organisationId}`).toString('hex')}`,
        made_by: ids.manager,
        made_at: AT,
      },
    ],
    phone_word: [{ id: newId(), person_id: ids.technician, first_said_at: AT, last_said_at: AT }],
    shift: [1, 2, 3, 4, 5].map((weekday) => ({ id: newId(), warehouse_id: ids.warehouse, weekday, starts: '06:00', ends: '14:00' })),
    closure: [{ id: newId(), warehouse_id: ids.warehouse, from_date: '2026-12-25', to_date: '2026-12-25', reason: 'Holiday' }],
    peak: [
      {
        id: newId(),
        warehouse_id: ids.warehouse,
        name: 'Season',
        from_date: '2026-11-15',
        to_date: '2026-12-29',
        usage_multiplier: 1.5,
        bars: 'no_visits',
      },
    ],
    person_warehouse: [{ person_id: ids.technician, warehouse_id: ids.warehouse }],
    absence: [{ id: newId(), person_id: ids.manager, from_date: '2026-04-01', to_date: '2026-04-10', cover_person_id: ids.technician }],
    station: [{ id: ids.station, warehouse_id: ids.warehouse, name: 'A01', line: 'A', walking_order: 1, strips_per_carton: 2 }],
  }
}

function machineRows(ids: SmallOrganisation['ids'], word: string): Record<string, NewRow[]> {
  const [brushSet, plan] = [newId(), newId()]
  return {
    component_type: [{ id: brushSet, key: 'motor_brush_set', name: 'Motor brushes' }],
    machine_type: [
      {
        id: ids.machineType,
        name: 'Bench electric',
        drive: 'electric',
        supply: 'cord_and_plug',
        heater: true,
        shortest_strip_mm: 150,
        longest_strip_mm: 1150,
        mean_strip_mm: 500,
        counter_kind: 'strips',
        created_at: AT,
      },
    ],
    machine_type_component: [{ machine_type_id: ids.machineType, component_type_id: brushSet }],
    instruction: [
      { id: newId(), person_id: ids.technician, machine_type_id: ids.machineType, instructed_on: '2026-01-05', instructed_by: 'Mara' },
    ],
    service_task: [{ id: ids.task, machine_type_id: ids.machineType, key: 'check_chain' }],
    service_plan: [{ id: plan, machine_type_id: ids.machineType, plan_version: 1, valid_from: '2025-01-01', created_at: AT }],
    plan_task: [
      {
        id: ids.planTask,
        service_plan_id: plan,
        service_task_id: ids.task,
        position: 1,
        name: 'Check the chain',
        minutes: 15,
        skill: 'technician',
        reach: 'inside',
        triggers: [{ kind: 'calendar', months: 6, mode: 'nominal' }],
      },
    ],
    machine: [
      {
        id: ids.machine,
        machine_type_id: ids.machineType,
        serial_number: `S-${word}`,
        label_code: `L-${word}`,
        commissioned_on: '2025-06-01',
        registered_on: '2025-06-01',
        status_since: '2025-06-01',
        created_at: AT,
      },
    ],
    machine_status_period: [{ id: newId(), machine_id: ids.machine, status: 'in_service', from_at: '2025-06-01T06:00:00Z' }],
    placement: [
      { id: newId(), machine_id: ids.machine, warehouse_id: ids.warehouse, station_id: ids.station, from_at: '2025-06-01T06:00:00Z' },
    ],
    component: [{ id: ids.component, component_type_id: brushSet, new_on: '2025-06-01' }],
    component_placement: [{ id: newId(), component_id: ids.component, machine_id: ids.machine, from_date: '2025-06-01' }],
    evidence: [
      {
        id: newId(),
        kind: 'counter_reading',
        warehouse_id: ids.warehouse,
        machine_id: ids.machine,
        at_time: '2025-06-02T06:00:00Z',
        from_date: '2025-06-02',
        to_date: '2025-06-02',
        amount: 100,
        source: 'page',
        created_at: AT,
      },
    ],
    evidence_key: [{ source: 'page', external_id: 'one', evidence_id: newId() }],
    ledger_day: [
      {
        machine_id: ids.machine,
        day: '2025-06-02',
        warehouse_id: ids.warehouse,
        strips: 800,
        metres: 400,
        motor_minutes: 30,
        strips_total: 800,
        kind: 'counter',
        relative_error: 0,
      },
    ],
  }
}

function workRows(organisationId: string, ids: SmallOrganisation['ids']): Record<string, NewRow[]> {
  const [part, message] = [newId(), newId()]
  const machine = { machine_id: ids.machine }
  const place = { warehouse_id: ids.warehouse }
  return {
    forecast: [
      { ...machine, ...place, service_task_id: ids.task, plan_task_id: ids.planTask, state: 'no_date', computed_on: '2026-03-02' },
    ],
    planning_state: [{ ...machine }],
    planning_chunk: [{ ...place, planned_for: '2026-03-02', evidence_version: 1, position: 0, machine_ids: [ids.machine], created_at: AT }],
    occurrence: [
      {
        ...machine,
        ...place,
        id: ids.occurrence,
        service_task_id: ids.task,
        plan_task_id: ids.planTask,
        sequence: 1,
        kind: 'regular',
        state: 'open',
        opened_on: '2026-03-02',
        nominal_on: '2026-03-09',
        window_from: '2026-03-01',
        window_to: '2026-03-20',
        due_on: '2026-03-09',
        governing_trigger: 'calendar',
        created_at: AT,
      },
    ],
    visit: [{ ...place, id: newId(), visit_on: '2026-03-09' }],
    work_order: [{ ...machine, ...place, id: ids.workOrder, number: 1, state: 'drafted', created_at: AT }],
    work_order_number: [{ last_number: 1 }],
    work_order_task: [
      { id: newId(), work_order_id: ids.workOrder, occurrence_id: ids.occurrence, plan_task_id: ids.planTask, position: 1 },
    ],
    work_entry: [{ ...machine, id: newId(), kind: 'note', content: { text: 'seen' }, made_at: AT, received_at: AT }],
    service_record: [
      {
        ...machine,
        id: newId(),
        service_task_id: ids.task,
        done_on: '2025-09-09',
        done_at: AT,
        source: 'import',
        anchor_on: '2025-09-09',
        created_at: AT,
      },
    ],
    situation: [{ ...machine, id: newId(), kind: 'new_tape', happened_on: '2026-02-01', created_at: AT }],
    measurement: [{ ...machine, id: newId(), name: 'motor_brush', value_mm: 12, measured_on: '2026-02-01', created_at: AT }],
    finding: [{ ...machine, id: newId(), found_on: '2026-02-01', text: 'Slack chain', created_at: AT }],
    stoppage: [{ ...machine, ...place, id: newId(), failed_at: AT, created_at: AT }],
    part: [{ id: part, name: 'Brush set', stock_code: 'B-1', price: 12.5 }],
    part_fit: [{ part_id: part, machine_type_id: ids.machineType }],
    part_stock: [{ ...place, part_id: part, on_hand: 2 }],
    part_told: [{ ...place, part_id: part, found_on: '2026-03-02' }],
    part_use: [{ ...machine, ...place, id: newId(), part_id: part, quantity: 1, used_at: AT }],
    heartbeat: [
      { process: 'worker', seen_at: AT, clock_difference_ms: 0, queue_answers: true, unsaid_reminders: 0, oldest_unsaid_seconds: 0 },
    ],
    bounce: [{ id: newId(), source_key: 'x', person_id: ids.manager, address: 'a@example.org', kind: 'soft', received_at: AT }],
    calendar_feed: [
      {
        ...place,
        id: newId(),
        person_id: ids.manager,
        token_hash: `\\x${newId().replaceAll('-', '')}`,
        created_at: AT,
      },
    ],
    message: [
      {
        ...place,
        id: message,
        person_id: ids.manager,
        local_day: '2026-03-02',
        class: 'digest',
        state: 'pending',
        send_after: AT,
        expires_at: '2026-03-04T00:00:00Z',
        created_at: AT,
      },
    ],
    reminder: [
      {
        ...place,
        id: newId(),
        occurrence_id: ids.occurrence,
        stage: 'coming_due',
        person_id: ids.manager,
        class: 'digest',
        say_on: '2026-03-02',
        message_id: message,
        created_at: AT,
      },
    ],
    access_key: [
      {
        id: newId(),
        name: 'k',
        scopes: ['fleet:read'],
        secret_hash: `\\x${newId().replaceAll('-', '')}`,
        hint: 'abcd',
        created_by: ids.manager,
        created_at: AT,
        expires_at: '2026-04-02T08:00:00Z',
      },
    ],
    account_link: [{ id: newId(), person_id: ids.manager, kind: 'invitation', created_at: AT, expires_at: '2026-03-09T08:00:00Z' }],
    audit_entry: [{ id: newId(), at: AT, actor: 'test', action: 'create', subject_kind: 'organisation', subject_id: organisationId }],
    import: [{ id: ids.imported, kind: 'machines', state: 'to_map', file_name: 'fleet.csv', created_at: AT }],
    import_part: [{ import_id: ids.imported, first_position: 1, row_count: 1, rows: [[2, 'A']] }],
    import_mapping: [{ kind: 'machines', headings: 'label', mapping: JSON.stringify({ labelCode: 0 }) }],
    second_factor: [{ person_id: ids.manager, sealed_secret: '\\x00', created_at: AT }],
    recovery_code: [{ id: newId(), person_id: ids.manager, code_hash: '\\x00', created_at: AT }],
    passkey: [{ id: newId(), person_id: ids.manager, name: 'phone', credential_id: newId(), public_key: 'k', created_at: AT }],
    external_identity: [{ issuer: 'https://i.example', subject: 's', person_id: ids.manager, created_at: AT, last_used_at: AT }],
    used_challenge: [{ challenge: 'c', used_at: AT }],
    scored_date: [
      {
        machine_id: ids.machine,
        service_task_id: ids.task,
        done_on: '2026-01-05',
        warehouse_id: ids.warehouse,
        trigger_kind: 'usage',
        true_on: '2026-02-05',
        share_below: 0,
        share_above: 0,
        scored_on: '2026-03-01',
      },
    ],
    webhook: [
      {
        id: ids.webhook,
        name: 'w',
        url: 'https://hooks.example/',
        kinds: '{due}',
        sealed_secret: '\\x00',
        created_by: ids.manager,
        created_at: AT,
        due_since: '2026-03-02',
      },
    ],
    webhook_delivery: [{ id: newId(), webhook_id: ids.webhook, kind: 'due', event_key: 'k', body: '{}', send_after: AT, created_at: AT }],
    saved_view: [{ id: newId(), person_id: ids.manager, place: 'machines', name: 'mine', search: '', created_at: AT }],
    fleet_change: [{ id: newId(), kind: 'changed', words: 'one', machine_count: 1, warehouse_ids: '{}', effects: '[]', made_at: AT }],
    photo: [
      {
        id: newId(),
        machine_id: ids.machine,
        person_id: ids.technician,
        width_px: 1,
        height_px: 1,
        content: '\\xffd8',
        taken_at: AT,
        received_at: AT,
      },
    ],
    machine_label: [
      {
        token: newId()
          .replaceAll('-', '')
          .slice(-12)
          .toUpperCase()
          .replace(/[ILOU]/g, '0'),
        machine_id: ids.machine,
        made_at: AT,
      },
    ],
    idempotency_key: [{ actor_id: ids.manager, key: 'k1', route: 'POST /x', body_hash: '\\x00', created_at: AT }],
  }
}

/** @param word tells two of them apart where a name must be unique */
export function smallOrganisation(word: string): SmallOrganisation {
  const organisationId = newId()
  const names = [
    'manager',
    'technician',
    'warehouse',
    'station',
    'machineType',
    'task',
    'planTask',
    'machine',
    'component',
    'occurrence',
    'workOrder',
    'imported',
    'webhook',
  ] as const
  const ids = Object.fromEntries(names.map((name) => [name, newId()])) as SmallOrganisation['ids']
  return {
    organisationId,
    ids,
    rows: { ...placeRows(organisationId, ids, word), ...machineRows(ids, word), ...workRows(organisationId, ids) },
  }
}
