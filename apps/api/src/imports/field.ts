/** What a column of an import may hold, and the two that most kinds have. */
export interface FieldDefinition {
  key: string
  /** Heading of the template and of the export. */
  label: string
  required?: true
  type: 'text' | 'label' | 'date' | 'month' | 'number' | 'choice' | 'zone' | 'time'
  longest?: number
  least?: number
  most?: number
  whole?: true
  /** Value by the words that stand for it; the first word is the one we write ourselves. */
  choices?: Readonly<Record<string, readonly string[]>>
  /** Other headings that are taken for it; lower case, letters and digits only. */
  synonyms: readonly string[]
  example: string
}

export const LABEL: FieldDefinition = {
  key: 'labelCode',
  label: 'Label code',
  required: true,
  type: 'label',
  synonyms: ['label', 'code', 'machine', 'machinelabel', 'etikett', 'maschine', 'etiquette', 'etiqueta', 'maquina'],
  example: 'N-01',
}
export const WAREHOUSE: FieldDefinition = {
  key: 'warehouse',
  label: 'Warehouse',
  required: true,
  type: 'text',
  longest: 200,
  synonyms: ['site', 'hall', 'lager', 'halle', 'standort', 'entrepot', 'almacen'],
  example: 'Hall North',
}
