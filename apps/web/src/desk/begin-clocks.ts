/** By which clocks a new warehouse runs, and whence that is known. Pure. */
export function sayClocks({ name, zone, known }: { name: string; zone: string; known: boolean }, ownZone: string): string {
  if (known) return `Its clocks run by ${zone}.`
  const like = zone === ownZone ? ', like this computer’s' : ''
  if (name.trim() === '') return `Leave it empty where it is not listed. Until then its clocks run by ${zone}${like}.`
  return `This town is not listed. Its clocks run by ${zone}${like}: a larger town nearby, its country, or the time zone by hand puts that right.`
}

/** Of towns of one name, the one that keeps the clocks of this computer is more likely meant than a larger one elsewhere. */
export function townMeant<Town extends { asked: boolean; zone: string }>(towns: readonly Town[], ownZone: string): Town | undefined {
  const asked = towns.filter((town) => town.asked)
  return asked.find(({ zone }) => zone === ownZone) ?? asked[0]
}
