import type { SignedSubject, Statement } from '../dossier/statement.js';
import type { AssessedLot } from '../lots/lot-assessor.js';
import type { Doers } from '../people/authority.js';
import type { Objection } from '../report/phrases/objections.js';

/** One thing that can be signed, as it stands now, with what a person needs to see before signing. */
export interface Signable {
  readonly subject: SignedSubject;
  readonly title: string;
  /** The lot whose file the signature belongs to, where there is one. */
  readonly lot: string | null;
  /** Code of the case that it alone belongs to: whoever the case is none of hears nothing of the signature. */
  readonly ofCase?: string | undefined;
  /** What is signed, in words: name and value. */
  readonly shows: readonly (readonly [string, string])[];
  /** Address of the page where the evidence is. */
  readonly page: string;
  /** Implants that a finding touches, as it stands now: by itself, or through the coupons that stand for them. */
  readonly touches?: readonly string[];
  /** Who did what to it, as far as the thing itself says. */
  readonly doers: Doers;
  /** Analysts named in a result sheet. */
  readonly analysts?: readonly string[];
  /** What whoever reviews it has to give a reason for, a sentence each. */
  readonly asksWhy?: readonly string[];
  /** Decisions that exist for a finding; absent for everything else. */
  readonly outcomes?: readonly Outcome[];
  /** Set when nobody can sign it as it is, with the reason. */
  readonly refused?: Objection;
  /** The frozen lot behind a lot file. */
  readonly assessed?: AssessedLot;
  /** Of a lot file that is only looked at: why it has to be frozen and assessed again before anybody signs it. */
  readonly outOfDate?: string;
}

export type Outcome = NonNullable<Statement['outcome']>;
