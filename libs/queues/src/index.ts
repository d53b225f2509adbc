export { openBackend, type Backend, type JobStates, type TakenJob } from './backend.js'
export {
  checkHandlers,
  Consumers,
  handleJob,
  HandlersError,
  type AnyHandler,
  type ConsumerSettings,
  type JobHandler,
  type JobOutcome,
} from './consumers.js'
export { jobId, JobQueue, type EnqueueOptions, type JobOf, type JobToAdd } from './job-queue.js'
export * from './jobs.js'
export * from './planning-requests.js'
