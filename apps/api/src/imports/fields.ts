/** What each kind of import may have in its columns: the words people head them with, and what a value must be. */
import { type FieldDefinition, LABEL, WAREHOUSE } from './field.js'
import { CARTONS_FIELDS, EVIDENCE_FIELDS, ROLLS_FIELDS, TAPS_FIELDS } from './fields-of-use.js'

export const IMPORT_KINDS = [
  'warehouses',
  'stations',
  'machines',
  'components',
  'evidence',
  'cartons',
  'rolls',
  'taps',
  'service_history',
] as const
export type ImportKind = (typeof IMPORT_KINDS)[number]

const NOTE: FieldDefinition = {
  key: 'note',
  label: 'Note',
  type: 'text',
  longest: 4000,
  synonyms: ['remark', 'comment', 'notiz', 'bemerkung', 'remarque', 'commentaire', 'nota'],
  example: '',
}
const money = (key: string, label: string, synonyms: string[]): FieldDefinition => ({
  key,
  label,
  type: 'number',
  least: 0,
  most: 9_999_999_999,
  synonyms,
  example: '42',
})

export const FIELDS: Readonly<Record<ImportKind, readonly FieldDefinition[]>> = {
  warehouses: [
    { ...WAREHOUSE, key: 'name', label: 'Warehouse', synonyms: [...WAREHOUSE.synonyms, 'name'] },
    {
      key: 'zone',
      label: 'Time zone',
      required: true,
      type: 'zone',
      synonyms: ['zone', 'timezone', 'zeitzone', 'tz', 'fuseauhoraire', 'zonahoraria'],
      example: 'Europe/Berlin',
    },
    {
      key: 'address',
      label: 'Address',
      type: 'text',
      longest: 1000,
      synonyms: ['anschrift', 'adresse', 'direccion'],
      example: '1 Dock Road',
    },
    money('labourCostPerHour', 'Labour cost an hour', ['labourcost', 'laborcost', 'labourrate', 'stundensatz', 'couthoraire', 'costehora']),
    money('stoppageCostPerHour', 'Stoppage cost an hour', ['stoppagecost', 'downtimecost']),
  ],
  stations: [
    WAREHOUSE,
    {
      key: 'name',
      label: 'Station',
      required: true,
      type: 'text',
      longest: 100,
      synonyms: ['name', 'place', 'platz', 'packplatz', 'poste', 'puesto'],
      example: 'A01',
    },
    { key: 'line', label: 'Line', type: 'text', longest: 100, synonyms: ['zone', 'linie', 'bereich', 'ligne', 'linea'], example: 'A' },
    {
      key: 'walkingOrder',
      label: 'Place in the walk',
      type: 'number',
      whole: true,
      least: 0,
      most: 1_000_000,
      synonyms: ['walkingorder', 'order', 'walk', 'reihenfolge', 'ordre', 'orden'],
      example: '1',
    },
    {
      key: 'ifStopped',
      label: 'If it stops',
      type: 'choice',
      choices: { stops: ['packing stops', 'stops'], slows: ['packing slows', 'slows'], goes_on: ['packing goes on', 'goes on'] },
      synonyms: ['ifstopped'],
      example: 'packing slows',
    },
    {
      key: 'stripsPerCarton',
      label: 'Strips a carton',
      type: 'number',
      least: 0.01,
      most: 100,
      synonyms: ['stripspercarton', 'streifenjekarton', 'streifenprokarton', 'bandesparcarton', 'tirasporcaja'],
      example: '2',
    },
  ],
  machines: [
    LABEL,
    {
      key: 'serialNumber',
      label: 'Serial number',
      type: 'text',
      longest: 100,
      synonyms: ['serial', 'serialno', 'seriennummer', 'seriennr', 'sn', 'serie', 'numerodeserie', 'ndeserie', 'noserie'],
      example: 'S-1001',
    },
    {
      key: 'machineType',
      label: 'Machine type',
      required: true,
      type: 'text',
      longest: 200,
      synonyms: ['type', 'typ', 'maschinentyp', 'model', 'modell', 'tipo', 'typedemachine', 'tipodemaquina'],
      example: 'Long-strip electric',
    },
    WAREHOUSE,
    {
      key: 'station',
      label: 'Station',
      type: 'text',
      longest: 100,
      synonyms: ['place', 'platz', 'packplatz', 'poste', 'puesto'],
      example: 'A01',
    },
    {
      key: 'commissionedOn',
      label: 'Commissioned on',
      type: 'date',
      synonyms: [
        'commissioned',
        'startdate',
        'inbetriebnahme',
        'inbetriebgenommen',
        'since',
        'miseenservice',
        'puestaenservicio',
        'puestaenmarcha',
      ],
      example: '2024-03-01',
    },
    {
      key: 'owner',
      label: 'Owner',
      type: 'choice',
      choices: { own: ['own', 'ours'], lent: ['lent', 'on loan'], leased: ['leased', 'lease'] },
      synonyms: ['ownership', 'eigentum'],
      example: 'own',
    },
    {
      key: 'warrantyUntil',
      label: 'Warranty until',
      type: 'date',
      synonyms: ['warranty', 'garantie', 'garantiebis', 'garantiejusquau', 'garantia'],
      example: '',
    },
    { key: 'serviceFirm', label: 'Service firm', type: 'text', longest: 200, synonyms: ['firm', 'servicefirma'], example: '' },
    {
      key: 'serviceTelephone',
      label: 'Service telephone',
      type: 'text',
      longest: 60,
      synonyms: ['telephone', 'phone', 'telefon'],
      example: '',
    },
    {
      key: 'tape',
      label: 'Tape',
      type: 'choice',
      choices: { unknown: ['not known', 'unknown'], plain: ['plain'], reinforced: ['reinforced'] },
      synonyms: ['klebeband', 'tapekind'],
      example: 'reinforced',
    },
    NOTE,
  ],
  components: [
    LABEL,
    {
      key: 'component',
      label: 'Component',
      required: true,
      type: 'text',
      longest: 200,
      synonyms: ['part', 'componenttype', 'bauteil', 'teil', 'composant', 'componente'],
      example: 'Blade',
    },
    {
      key: 'newOn',
      label: 'Fitted new on',
      type: 'date',
      synonyms: ['newon', 'fitted', 'installed', 'installedon', 'eingebaut', 'eingebautam', 'monte', 'montele', 'instalado'],
      example: '2025-06-12',
    },
  ],
  evidence: EVIDENCE_FIELDS,
  cartons: CARTONS_FIELDS,
  rolls: ROLLS_FIELDS,
  taps: TAPS_FIELDS,
  service_history: [
    LABEL,
    {
      key: 'task',
      label: 'Task',
      required: true,
      type: 'text',
      longest: 200,
      synonyms: ['work', 'care', 'aufgabe', 'arbeit', 'tache', 'tarea'],
      example: 'Measure both motor brushes',
    },
    {
      key: 'doneOn',
      label: 'Done on',
      required: true,
      type: 'date',
      synonyms: ['date', 'done', 'datum', 'erledigt', 'erledigtam', 'faitle', 'fecha'],
      example: '2026-02-10',
    },
    {
      key: 'doneBy',
      label: 'Done by',
      type: 'text',
      longest: 200,
      synonyms: ['by', 'who', 'person', 'technician', 'von', 'durch', 'par', 'por'],
      example: 'Mara',
    },
    NOTE,
  ],
}

export function plainHeading(heading: string): string {
  return heading
    .normalize('NFD')
    .toLowerCase()
    .replace(/[^a-z0-9]/g, '')
}

/** Column by field: the label itself or its key, then a synonym; a column serves one field. -1 is never written. */
export function guessMapping(kind: ImportKind, headings: readonly string[]): Record<string, number> {
  const plain = headings.map(plainHeading)
  const mapping: Record<string, number> = {}
  const taken = new Set<number>()
  const take = (field: FieldDefinition, fits: (heading: string) => boolean): void => {
    if (mapping[field.key] !== undefined) return
    const at = plain.findIndex((heading, index) => heading !== '' && !taken.has(index) && fits(heading))
    if (at < 0) return
    mapping[field.key] = at
    taken.add(at)
  }
  for (const field of FIELDS[kind]) take(field, (heading) => heading === plainHeading(field.label) || heading === plainHeading(field.key))
  for (const field of FIELDS[kind]) take(field, (heading) => field.synonyms.includes(heading))
  return mapping
}

/** By which a mapping is remembered: the same headings in the same order. */
export function headingKey(headings: readonly string[]): string {
  return headings.map(plainHeading).join('|').slice(0, 2000)
}
