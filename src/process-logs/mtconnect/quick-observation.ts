/** What stands between two tags of a category, and is as plain as nearly all of it. Valid until the next is read. */
export interface QuickObservation {
  dataItem: string;
  timeUs: number;
  sequence: number;
  /** The value where it is a plain decimal; NaN where its text has to be looked at. */
  number: number;
  /** Where the value stands in the bytes. */
  valueFrom: number;
  valueTo: number;
  /** Line feeds from where reading began to the end of the opening tag, and from there to the end of the element. */
  linesBefore: number;
  linesInside: number;
}
