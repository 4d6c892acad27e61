import type { Verdict } from '../assessment/assessment.js';
import type { PowderShare } from '../assessment/powder-shares.js';
import type { Meaning, Role, Statement } from '../dossier/statement.js';

/** What a trace answers. */

/** A thing by what it is and its key. */
export interface ThingName {
  readonly kind: string;
  readonly key: string;
}

export interface TraceNode {
  readonly kind: string;
  readonly title: string;
  readonly key: string;
  readonly name: string;
  /** 0 where there is no document: a person who has an account alone. */
  readonly revision: number;
  /** Number of ties between this and what was asked for. */
  readonly depth: number;
  /** The tie by which it was reached, with masses where the tie has one. */
  readonly via: string;
  /** Things one tie nearer to what was asked for, by which it was reached. */
  readonly nearer: readonly ThingName[];
  /** Of an implant: what its lot's current assessment says of it, where there is one. Null for everything else. */
  readonly verdict: Verdict | null;
}

export interface TraceMatch {
  readonly entry: TraceNode;
  /** What of it the identifier is, in words; null where it is its own key. */
  readonly found: string | null;
  /** How many of the implants that it has to do with were made, and where each is; in words. Null where it has none. */
  readonly balance: string | null;
  /** These implants: the thing itself, and those that it went into or came from. */
  readonly units: readonly TracedUnit[];
  /** What it was made of and by: recipe, powder, heats, gas, machine, people. */
  readonly back: readonly TraceNode[] | null;
  /** What was made from or with it. */
  readonly forward: readonly TraceNode[] | null;
  /** What earlier revisions were tied to and the latest ones are not any more: no walk goes on from there. */
  readonly earlier: readonly EarlierNode[];
  /** Mass fractions by receipt: of a powder state or a build, and of an implant or a coupon in each build it was made in. */
  readonly powder: readonly PowderOrigin[];
  /** Of a heat, a receipt or a powder state: its mass fraction in each powder state that was made of it. */
  readonly inStates: readonly StateShare[];
  /** Of a person: what they signed, the latest first. Null for everything else. */
  readonly signed: readonly SignedAct[] | null;
  /** Of a person: what they took in, the latest first. Null for everything else. */
  readonly entered: readonly EnteredAct[] | null;
}

/** What a superseded revision was tied to. */
export interface EarlierNode extends ThingName {
  readonly title: string;
  readonly direction: 'back' | 'forward';
  /** The thing of the answer from which the tie led. */
  readonly nearer: ThingName;
  /** The tie, with the revision that had it. */
  readonly via: string;
}

/** An implant of an answer, with where it is. */
export interface TracedUnit {
  readonly serial: string;
  readonly lot: string;
  readonly verdict: Verdict | null;
  /** In words, with a hold that lies on it. */
  readonly place: string;
  readonly since: string | null;
  readonly holder: string;
  /** The document that says so, in words; null where its build and decisions do. */
  readonly by: string | null;
  /** Of powder that was asked for: its mass fraction in what each closure took in which the implant was made. */
  readonly shares: readonly BuildShare[];
}

/** A mass fraction in a powder state. */
export interface StateShare {
  readonly state: string;
  /** Above 0 and at most 1. */
  readonly fraction: number;
}

/** A mass fraction in what a build took. */
export interface BuildShare {
  readonly build: string;
  /** Above 0 and at most 1. */
  readonly fraction: number;
}

/** Where the powder of a state or a build came from. */
export interface PowderOrigin {
  readonly of: string;
  readonly shares: readonly PowderShare[];
}

/** One revision that a person took in. */
export interface EnteredAct {
  readonly at: string;
  /** `recipe R-1, revision 2`. */
  readonly what: string;
}

/** One statement as the trace of a person tells it. */
export interface SignedAct {
  readonly at: string;
  readonly meaning: Meaning;
  readonly step: Statement['step'];
  /** What it covers: `lot file L-1, L-1-I1, L-1-I2`. */
  readonly what: string;
  readonly role: Role;
  readonly reason: string | null;
  readonly digest: string;
}

export interface TraceReport {
  readonly asked: string;
  /** How it was narrowed: to one direction, to a time of use, to what was on record at a moment; null where it was not. */
  readonly narrowed: {
    readonly direction: 'back' | 'forward' | null;
    readonly from: string | null;
    readonly to: string | null;
    readonly asOf: string | null;
  };
  /** The audit trail from which it was answered. */
  readonly head: { readonly size: number; readonly root: string };
  readonly matches: readonly TraceMatch[];
  /** Where an identifier names more things than are traced at once: all of them, to choose from. Else empty. */
  readonly candidates: readonly TraceCandidate[];
  /** What no search here can tell, in words. */
  readonly cannotKnow: readonly string[];
}

/** A thing that an identifier names, to choose from. */
export interface TraceCandidate {
  readonly kind: string;
  readonly title: string;
  readonly key: string;
  readonly found: string | null;
}

/** The key as people read it: of an act, whose key is a digest, as much as tells it from others. */
export const shortKey = ({ kind, key }: ThingName): string => (kind === 'act' ? key.slice(0, SHORT_DIGEST) : key);

const SHORT_DIGEST = 12;
