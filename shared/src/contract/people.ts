/** People, the warehouses they serve, absences, and who was shown small care on which machine type, by whom. */
import { z } from 'zod'
import { roleSchema, unitsSchema } from '../vocabulary.js'
import { idSchema, localDateSchema, nameSchema, pageQueryShape, textSchema, versionSchema } from './common.js'
import { passwordSchema } from './sessions.js'

export const absenceSchema = z.object({ id: z.string(), fromDate: z.string(), toDate: z.string(), coverPersonId: z.string().nullable() })
export const instructionSchema = z.object({
  id: z.string(),
  machineTypeId: z.string(),
  machineTypeName: z.string(),
  instructedOn: z.string(),
  instructedBy: z.string(),
})
export const personSchema = z.object({
  id: z.string(),
  name: z.string(),
  email: z.string().nullable(),
  role: roleSchema,
  language: z.string(),
  units: unitsSchema,
  electricallyQualified: z.boolean(),
  leadDays: z.number().int(),
  disabled: z.boolean(),
  /** Name and everything personal were taken away for good. */
  anonymised: z.boolean(),
  canSignIn: z.boolean(),
  /** One-time codes are asked for beside the password. */
  hasCodes: z.boolean(),
  passkeyCount: z.number().int(),
  warehouseIds: z.array(z.string()),
  absences: z.array(absenceSchema),
  instructions: z.array(instructionSchema),
  version: z.number().int(),
})
export type Person = z.infer<typeof personSchema>

const personFields = {
  name: nameSchema(200),
  email: z.email().max(254).nullable(),
  role: roleSchema,
  language: z.enum(['en', 'de']),
  units: unitsSchema,
  electricallyQualified: z.boolean(),
  leadDays: z.number().int().min(0).max(120),
}
export const createPersonRequestSchema = z
  .strictObject(personFields)
  .partial()
  .required({ name: true, role: true })
  .extend({ id: idSchema.optional(), password: passwordSchema.optional(), warehouseIds: z.array(idSchema).max(500).default([]) })
export type CreatePersonRequest = z.input<typeof createPersonRequestSchema>
export const patchPersonRequestSchema = z
  .strictObject(personFields)
  .partial()
  .extend({ disabled: z.boolean().optional(), warehouseIds: z.array(idSchema).max(500).optional(), version: versionSchema.optional() })
export type PatchPersonRequest = z.input<typeof patchPersonRequestSchema>
/** The name as it is now, typed by who asks: this cannot be taken back. */
export const anonymiseRequestSchema = z.strictObject({ name: textSchema(200) })
export const setPasswordRequestSchema = z.strictObject({ newPassword: passwordSchema })

export const listPeopleQuerySchema = z.strictObject({ warehouseId: idSchema.optional(), role: roleSchema.optional(), ...pageQueryShape })
export const instructionRequestSchema = z.strictObject({
  machineTypeId: idSchema,
  instructedOn: localDateSchema,
  instructedBy: nameSchema(200).pipe(textSchema(200)),
})
export const personParamsSchema = z.strictObject({ personId: idSchema })
export const absenceParamsSchema = z.strictObject({ personId: idSchema, absenceId: idSchema })
export const instructionParamsSchema = z.strictObject({ personId: idSchema, instructionId: idSchema })
