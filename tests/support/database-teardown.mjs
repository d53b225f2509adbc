export default async function teardown() {
  const { server, template, asAdmin } = globalThis.tapewardenTestServer
  if (process.env.TEST_DATABASE_URL)
    await asAdmin(server.url, async (client) => {
      await client.query(`ALTER DATABASE ${template} WITH IS_TEMPLATE false`)
      await client.query(`DROP DATABASE ${template} WITH (FORCE)`)
    })
  await server.stop()
}
