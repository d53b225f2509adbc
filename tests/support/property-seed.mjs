// Properties are tried with the same cases each time, so that a commit is green or not, whoever runs it.
// Other cases: PROPERTY_SEED=$RANDOM npm test; a failing property prints its seed either way.
import fc from 'fast-check'

fc.configureGlobal({ seed: Number(process.env.PROPERTY_SEED ?? 20_261_125) })
