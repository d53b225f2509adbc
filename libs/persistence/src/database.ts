import { PrismaPg } from '@prisma/adapter-pg'
import type { Pool } from 'pg'
import type { ConnectionSettings } from './connection.js'
import { type Prisma, PrismaClient } from './generated/client.js'
import { openPool, SET_ORGANISATION, SqlDatabase } from './sql-database.js'

/** Prisma inside one transaction of one organisation. */
export type PrismaScope = Prisma.TransactionClient

const TRANSACTION = { maxWait: 10_000, timeout: 30_000 }

/** The way to the rows with Prisma beside plain SQL, over one pool. */
export class Database extends SqlDatabase {
  private constructor(
    pool: Pool,
    private readonly prisma: PrismaClient,
  ) {
    super(pool)
  }

  /** @throws UnguardedRoleError where the role could see every organisation */
  static override async open(settings: ConnectionSettings): Promise<Database> {
    const pool = await openPool(settings)
    return new Database(pool, new PrismaClient({ adapter: new PrismaPg(pool) }))
  }

  /** One transaction through Prisma: for ordinary reading and writing. One a request, not one a query. */
  withOrganisation<Answer>(organisationId: string, work: (scope: PrismaScope) => Promise<Answer>): Promise<Answer> {
    return this.prisma.$transaction(async (scope) => {
      await scope.$executeRawUnsafe(SET_ORGANISATION, organisationId)
      return work(scope)
    }, TRANSACTION)
  }

  override async close(): Promise<void> {
    await this.prisma.$disconnect()
    await super.close()
  }
}
