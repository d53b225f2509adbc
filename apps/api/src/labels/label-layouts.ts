/** Sheets of labels and labels from a roll, in mm. Sizes as paper is cut everywhere; no maker's sheet is meant. */
export interface LabelLayout {
  page: { widthMm: number; heightMm: number }
  columns: number
  rows: number
  label: { widthMm: number; heightMm: number }
  /** Left and top edge of the first label. */
  first: { leftMm: number; topMm: number }
  /** Between two labels. */
  gap: { xMm: number; yMm: number }
}

const A4 = { widthMm: 210, heightMm: 297 }
const LETTER = { widthMm: 215.9, heightMm: 279.4 }
const roll = (widthMm: number, heightMm: number): LabelLayout => ({
  page: { widthMm, heightMm },
  columns: 1,
  rows: 1,
  label: { widthMm, heightMm },
  first: { leftMm: 0, topMm: 0 },
  gap: { xMm: 0, yMm: 0 },
})

export const LABEL_LAYOUTS = {
  a4_3_by_8: {
    page: A4,
    columns: 3,
    rows: 8,
    label: { widthMm: 70, heightMm: 37 },
    first: { leftMm: 0, topMm: 0.5 },
    gap: { xMm: 0, yMm: 0 },
  },
  a4_2_by_7: {
    page: A4,
    columns: 2,
    rows: 7,
    label: { widthMm: 99, heightMm: 38 },
    first: { leftMm: 4.75, topMm: 15.5 },
    gap: { xMm: 2.5, yMm: 0 },
  },
  letter_3_by_10: {
    page: LETTER,
    columns: 3,
    rows: 10,
    label: { widthMm: 66.7, heightMm: 25.4 },
    first: { leftMm: 4.8, topMm: 12.7 },
    gap: { xMm: 3.1, yMm: 0 },
  },
  letter_2_by_5: {
    page: LETTER,
    columns: 2,
    rows: 5,
    label: { widthMm: 101.6, heightMm: 50.8 },
    first: { leftMm: 4.1, topMm: 12.7 },
    gap: { xMm: 4.5, yMm: 0 },
  },
  roll_50_by_25: roll(50, 25),
  roll_60_by_40: roll(60, 40),
} as const satisfies Record<string, LabelLayout>

/** Left and top edge of the label of this number on its page, from 0. */
export function placeOf(layout: LabelLayout, number: number): { leftMm: number; topMm: number } {
  const [column, row] = [number % layout.columns, Math.floor(number / layout.columns)]
  return {
    leftMm: layout.first.leftMm + column * (layout.label.widthMm + layout.gap.xMm),
    topMm: layout.first.topMm + row * (layout.label.heightMm + layout.gap.yMm),
  }
}
