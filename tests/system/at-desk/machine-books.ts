/** One machine's books at the desk: its facts, its parts, care told, things found, and who changed what. */
import { describe, expect, it } from '@jest/globals'
import type { Page } from 'playwright-core'
import { DESK, type DeskGround, PHONE, wrongWith } from '../support/desk-ground.js'

const inSection = (page: Page, id: string) => page.locator(`section[aria-labelledby="${id}"]`)

export const machineBooks = (ground: () => DeskGround): void =>
  describe('one machine’s books', () => {
    let machine: any
    const anew = async (): Promise<any> => (await ground().client('manager')).get(`/api/v1/machines/${machine.id}`)
    const parts = async (): Promise<any[]> =>
      (await (await ground().client('manager')).get(`/api/v1/machines/${machine.id}/components`)).items

    it('puts right what the books say of a machine, and says who did', async () => {
      const manager = await ground().client('manager')
      machine = (await manager.get('/api/v1/machines?limit=1&status=in_service&search=ML-')).items[0]
      const page = await ground().open(DESK, 'manager', `/machines/${machine.id}`)
      await page.click('summary:has-text("Put right what the books say")')
      await page.fill('label:text-is("Serial number") >> xpath=../div >> input', 'C-77/b')
      await page.fill('label:text-is("Service firm") >> xpath=../div >> input', 'Bolt and Sons')
      await page.fill('label:text-is("Its telephone") >> xpath=../div >> input', '+44 20 7946 0018')
      expect(await wrongWith(page, 'machine-facts')).toEqual([])
      await page.click('button:text-is("Put it right")')
      await page.waitForSelector('text=Service firm Bolt and Sons')
      expect(await page.getAttribute('a[href^="tel:"]', 'href')).toBe('tel:+442079460018')
      expect(await anew()).toMatchObject({ serialNumber: 'C-77/b', serviceFirm: 'Bolt and Sons' })
      await page.click('summary:has-text("Who changed what")')
      await page.waitForSelector(`text=serial number: ${machine.serialNumber} → C-77/b`)
      await page.goto(new URL('/set-up/history', page.url()).href)
      await page.waitForSelector(`text=→ C-77/b`)
      expect(await wrongWith(page, 'history')).toEqual([])
      await page.context().close()
    }, 120_000)

    it('is told that a blade was replaced, and that its day was typed wrongly', async () => {
      const page = await ground().open(PHONE, 'manager', `/machines/${machine.id}`)
      const section = inSection(page, 'parts-in-it')
      await section.locator('button[aria-label="Blade: change"]').click()
      await section.locator('label:text-is("Replaced on") >> xpath=../div >> input').fill('2026-03-02')
      await section.locator('label:text-is("The old one was") >> xpath=../div >> select').selectOption('worn')
      expect(await wrongWith(page, 'machine-parts')).toEqual([])
      await section.locator('button:text-is("Write it down")').click()
      await section.locator('text=fitted new 2 Mar').first().waitFor()
      const out = (await parts()).find(({ componentType, toDate }) => componentType.key === 'blade' && toDate === '2026-03-02')
      expect(out.removalReason).toBe('worn')
      await section.locator('button[aria-label="Blade, taken out 2026-03-02: change"]').click()
      await section.locator('label:text-is("Taken out on") >> xpath=../div >> input').fill('2026-03-20')
      await section.locator('button:text-is("Put it right")').click()
      await section.locator('text=the two would overlap').waitFor()
      await section.locator('label:text-is("Taken out on") >> xpath=../div >> input').fill('2026-02-27')
      await section.locator('button:text-is("Put it right")').click()
      await section.locator('text=out 27 Feb').waitFor()
      expect((await parts()).find(({ placementId }) => placementId === out.placementId).toDate).toBe('2026-02-27')
      await page.context().close()
    }, 120_000)

    it('is told of care that a firm did, and takes it back', async () => {
      const manager = await ground().client('manager')
      const page = await ground().open(DESK, 'manager', `/machines/${machine.id}`)
      const section = inSection(page, 'done')
      await section.locator('summary:has-text("Care was done without an order")').click()
      await section
        .locator('label:text-is("What was done") >> xpath=../div >> select')
        .selectOption({ label: 'Check chain tension and fastenings' })
      await section.locator('label:text-is("Note") >> xpath=../div >> input').fill('Report 4711')
      await section.locator('button:text-is("Write it down")').click()
      await section.locator('li:has-text("Report 4711")').waitFor()
      const told = async () =>
        (await manager.get(`/api/v1/machines/${machine.id}/service-records`)).items.find(
          ({ note }: any) => note.includes('4711') || note.startsWith('Taken back'),
        )
      expect(await told()).toMatchObject({ personName: 'Bolt and Sons', source: 'desk', settles: true })
      await section.locator('button:has-text("One of these is wrong")').click()
      const row = section.locator('li:has-text("Report 4711")')
      await row.locator('button:has-text("Take back")').click()
      await row.locator('button:has-text("Why is it wrong?")').click()
      await row.locator('input').fill('It was the machine beside it')
      await row.locator('button:text-is("Take it back")').click()
      await section.locator('li:has-text("It was the machine beside it")').waitFor()
      expect(await told()).toMatchObject({ settles: false })
      await page.context().close()
    }, 120_000)

    it('makes a link to the month’s round, which opens without a sign-in', async () => {
      const manager = await ground().client('manager')
      const [hall] = (await manager.get('/api/v1/warehouses')).items
      const page = await ground().open(DESK, 'manager', `/work?warehouseId=${hall.id}`)
      await page.getByRole('button', { name: `A link to the round of ${hall.name} for somebody` }).click()
      await page.getByRole('button', { name: 'Make the link' }).click()
      const shown = page.getByLabel(/Shown once; pass it on to .+ alone/)
      await shown.waitFor()
      expect(await wrongWith(page, 'round-link')).toEqual([])
      const address = await shown.inputValue()
      const walker = await (await page.context().browser()!.newContext({ viewport: PHONE })).newPage()
      await walker.goto(address)
      await walker.getByText(hall.name).first().waitFor()
      expect(await walker.locator('input[type=password]').count()).toBe(0)
      await walker.context().close()
      await page.context().close()
    }, 90_000)

    it('keeps what somebody saw until it is dealt with or a task takes it', async () => {
      const manager = await ground().client('manager')
      const page = await ground().open(DESK, 'manager', `/machines/${machine.id}`)
      for (const [text, safety] of [
        ['Key 7 sticks', false],
        ['Cord frayed at the clamp', true],
      ] as const) {
        await inSection(page, 'found').locator('summary:has-text("Write down something that was seen")').click()
        await page.fill('label:text-is("What was seen") >> xpath=../div >> input', text)
        if (safety) await page.check('input[name=safety]')
        // Pressed twice in haste, it is written down once.
        await inSection(page, 'found').locator('form button').dblclick()
        await page.waitForSelector(`text=“${text}”`)
      }
      await page.goto(new URL('/', page.url()).href)
      await page.click('a:has-text("2 things were found on site and wait")')
      await page.waitForSelector('h1:has-text("Found on site")')
      expect(await wrongWith(page, 'findings')).toEqual([])
      const sections = page.locator('main section')
      expect(await sections.first().textContent()).toContain('Could hurt somebody')
      await page.click('button[aria-label^="Dealt with: “Cord frayed"]')
      await page.fill('label:text-is("What was done, or why nothing need be") >> xpath=../div >> input', 'New cord by the electrician')
      await page.click('button:text-is("Write it down")')
      await page.locator('main section:has-text("Cord frayed")').waitFor({ state: 'detached' })
      expect(await page.locator('main section').count()).toBe(1)
      await page.click('button[aria-label^="Let a task take “Key 7"]')
      await page.selectOption('label:text-is("Task") >> xpath=../div >> select', { label: 'Inspect feed wheel and pressure roller' })
      await page.click('button:text-is("Let it fall due")')
      await page.waitForSelector('text=Nothing waits here.')
      const found = (await manager.get(`/api/v1/machines/${machine.id}/findings`)).items
      expect(found).toMatchObject([
        { text: 'Key 7 sticks', taskName: 'Inspect feed wheel and pressure roller', settledOn: null },
        { text: 'Cord frayed at the clamp', settledNote: 'New cord by the electrician' },
      ])
      await page.context().close()
    }, 120_000)
  })
