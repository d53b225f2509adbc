/** The one direction of dependency: apps → adapters → scheduling → reliability; shared and platform are below all. */
const APP = '^apps/'
const ADAPTER = '^libs/(persistence|queues|messaging)/'
const PURE = '^libs/(scheduling|reliability)/'

function forbid(name, comment, from, to) {
  return { name, comment, severity: 'error', from, to }
}

export default {
  forbidden: [
    forbid('no-runtime-cycles', 'Two files that need each other at run time crash or half-load.', {}, { circular: true, viaOnly: { dependencyTypesNot: ['type-only'] } }),
    forbid('apps-apart', 'Applications never import each other.', { path: '^apps/([^/]+)/' }, { path: '^apps/', pathNot: '^apps/$1/' }),
    forbid('libs-not-apps', 'Libraries know no application.', { path: '^(libs|shared)/' }, { path: APP }),
    forbid('web-only-contract', 'The browser knows the contract and nothing else of ours.', { path: '^apps/web/' }, { path: '^libs/' }),
    forbid('adapters-apart', 'Persistence, queues and messaging do not know each other.', { path: '^libs/(persistence|queues|messaging)/' }, { path: ADAPTER, pathNot: '^libs/$1/' }),
    forbid('pure-not-adapters', 'The pure libraries know no adapter and no platform.', { path: PURE }, { path: '^libs/(persistence|queues|messaging|platform)/' }),
    forbid('reliability-lowest', 'Mathematics knows nothing of scheduling or the contract.', { path: '^libs/reliability/' }, { path: '^(libs/(?!reliability)|shared/)' }),
    forbid('shared-alone', 'The contract reads nothing of ours.', { path: '^shared/' }, { path: '^libs/' }),
    forbid(
      'worker-not-contract',
      'The contract takes 30 MB in each thread of a worker, which needs its words alone: @tapewarden/shared/vocabulary.',
      { path: '^(libs|apps/worker)/', pathNot: '[.]test[.]ts$' },
      { path: '^shared/src/(?!vocabulary)', dependencyTypesNot: ['type-only'] },
    ),
    forbid('platform-alone', 'The platform reads only the contract.', { path: '^libs/platform/' }, { path: '^libs/(?!platform)' }),
    forbid(
      'pure-no-world',
      'No framework, database, queue, file system or process in the pure libraries.',
      { path: PURE, pathNot: '[.]test[.]ts$' },
      { path: '(^node:|^(fs|net|http|child_process|os|process|path)$|node_modules/(@nestjs|@prisma|pg|bullmq|ioredis|nodemailer|fastify|pino)/)' },
    ),
    forbid('no-unresolvable', 'Every import must be found.', {}, { couldNotResolve: true }),
  ],
  options: {
    tsPreCompilationDeps: true,
    tsConfig: { fileName: 'tsconfig.check.json' },
    exclude: '(^|/)dist/',
    doNotFollow: { path: 'node_modules' },
    enhancedResolveOptions: { exportsFields: ['exports'], conditionNames: ['source', 'import', 'node', 'default', 'types'], extensions: ['.ts', '.tsx', '.js', '.mjs', '.json'] },
  },
}
