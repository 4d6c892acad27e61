/** An event as it is stored. */
export interface EventRow {
  readonly id: number;
  readonly type: string;
  readonly subjectKind: string;
  readonly subjectKey: string;
  readonly body: string;
  readonly recordedAt: string;
  readonly recordedOffset: string;
  readonly actor: string;
  readonly reason: string | null;
  readonly ledgerSeq: number;
}
