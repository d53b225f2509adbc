/** Some of the warehouses, in a process of their own: `part.js SEED YEARS WAREHOUSES FIRST STEP`; one record a line on stdout. */
import { WarehouseRun } from './warehouse-run.js'

const [seed = 1, years = 5, warehouses = 1, first = 0, step = 1] = process.argv.slice(2).map(Number)
for (let index = first; index < warehouses; index += step) {
  const began = performance.now()
  const records = new WarehouseRun(seed * 7919 + index * 104_729, `warehouse ${index}`, years).run()
  for (const record of records) process.stdout.write(`${JSON.stringify(record)}\n`)
  console.error(
    `warehouse ${index + 1} of ${warehouses}: ${records.length} records in ${((performance.now() - began) / 1000).toFixed(1)} s`,
  )
}
