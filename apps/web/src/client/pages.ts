interface Page<Item> {
  items: Item[]
  nextCursor: string | null
}

/** Reads a list page after page, to its end or to the first row that is not wanted any more. For what has a natural end: a span of time. */
export async function readPages<Item>(
  ask: (from: { cursor?: string }) => Promise<Page<Item>>,
  wanted: (item: Item) => boolean = () => true,
): Promise<Item[]> {
  const found: Item[] = []
  let from: { cursor?: string } | null = {}
  while (from !== null) {
    const { items, nextCursor }: Page<Item> = await ask(from)
    const end = items.findIndex((item) => !wanted(item))
    found.push(...(end < 0 ? items : items.slice(0, end)))
    from = end < 0 && nextCursor !== null ? { cursor: nextCursor } : null
  }
  return found
}
