/** One line of what a person should do or know today: what, for which implant, by when, and one button. */
export interface Duty {
  readonly what: string;
  /** The lot or the thing that it is about. */
  readonly of: { readonly text: string; readonly href: string } | null;
  /** Serials, where it is about some implants alone. */
  readonly units: readonly string[];
  /** Day, such as `2031-05-04`; null where there is none. */
  readonly by: string | null;
  readonly overdue: boolean;
  readonly button: { readonly text: string; readonly href: string } | null;
}

/** Soonest first; what has no day comes last, in the order in which it was told. */
export const soonestFirst = (duties: readonly Duty[]): Duty[] =>
  [...duties].sort((a, b) => (a.by ?? '9999').localeCompare(b.by ?? '9999', 'en'));
