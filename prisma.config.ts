import { defineConfig } from 'prisma/config'

/** The migrations are SQL files with a runner of their own; Prisma makes the client and helps to check. */
export default defineConfig({ schema: 'prisma/schema' })
