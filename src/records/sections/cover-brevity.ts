/** How much of it page 1 tells by itself; what it leaves off stands behind it, with the page. */
export interface Brevity {
  /** Statements on earlier states of the lot file one by one, or as a count. */
  readonly tellsEarlierStates: boolean;
  /** Of statements of one meaning the last alone, implants that stand alike in one row, and of many the first by name. */
  readonly isBrief: boolean;
  readonly mostExceptions: number;
}

export const ALL_OF_IT: Brevity = {
  tellsEarlierStates: true,
  isBrief: false,
  mostExceptions: Number.POSITIVE_INFINITY,
};

const MOST_CHARACTERS = 240;

/** A text as page 1 tells it: of a very long one the beginning; the whole stands where page 1 leads. */
export const asLongAsFits = (text: string, { isBrief }: Brevity): string =>
  isBrief && text.length > MOST_CHARACTERS ? `${text.slice(0, MOST_CHARACTERS)}…` : text;

const counted = { ...ALL_OF_IT, tellsEarlierStates: false };
const brief = { ...counted, isBrief: true };

/** From the fullest down to what fits on a page for any lot. */
export const BREVITIES: readonly Brevity[] = [
  ALL_OF_IT,
  counted,
  brief,
  ...[20, 15, 10, 5].map((mostExceptions) => ({ ...brief, mostExceptions })),
];
