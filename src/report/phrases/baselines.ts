import { capital } from './capital.js';
import { counted } from './counted.js';
import { kindText } from './kinds.js';

interface Named {
  readonly kind: string;
  readonly key: string;
  readonly revision: number;
}

const revisionText = (before: Named, after: Named): string =>
  before.revision === after.revision
    ? `not what was frozen: ${memberText(before)}`
    : `${kindText(before.kind)} ${before.key}, from revision ${before.revision} to ${after.revision}`;

const memberText = ({ kind, key, revision }: Named): string => `${kindText(kind)} ${key} revision ${revision}`;

interface Compared {
  readonly family: string;
  readonly from: string;
  readonly to: string | null;
  readonly asOf: string;
}

interface Frozen {
  readonly entries: number;
  readonly members: number;
  readonly approvedBy: string | null;
  readonly approvedAt: string | null;
  readonly isSame: boolean;
}

const frozenText = ({ entries, members, approvedBy, approvedAt, isSame }: Frozen): string =>
  `${counted(members, 'document')} as of entry ${entries}, ${
    approvedBy === null ? 'approved by nobody' : `approved by ${approvedBy} on ${approvedAt!.slice(0, 10)}`
  }${isSame ? ', and the design is as it froze it' : ''}`;

/** What command and pages say of baselines of designs. */
export const BASELINE_LINES = {
  member: memberText,
  nothing: (family: string, day: string) =>
    `nothing was written down of the design of family ${family} by ${day}, so there is nothing to freeze`,
  drafts: (drafts: readonly Named[]) =>
    `a baseline holds approved revisions alone; nobody has approved ${drafts.map(memberText).join(', ')}: approve or withdraw them first`,
  taken: (family: string, name: string) =>
    `family ${family} has a baseline ${name} already: what was frozen stays as it is, so give this one another name`,
  frozen: (name: string, members: number, entries: number) =>
    `Baseline ${name}: ${counted(members, 'document')} frozen as of entry ${entries} of the audit trail. It is in force once its author signed it and quality approved it.`,
  head: 'Baselines:',
  line: (one: Frozen & { readonly name: string }) => `${one.name}: ${frozenText(one)}`,
  says: frozenText,
  lots: 'Lots made:',
  lotHeads: ['lot', 'built', 'baseline then', 'state'],
  noBaseline: 'none',
  notBuilt: 'not built',
  compared: ({ family, from, to, asOf }: Compared) =>
    `Design of family ${family}: baseline ${from} compared with ${
      to === null ? `what stood as of ${asOf}` : `baseline ${to}`
    }.`,
  noDifference: (same: number) => `Nothing differs: ${counted(same, 'document')} alike.`,
  same: (same: number) => `${counted(same, 'document')} alike.`,
  added: (one: Named) => `added: ${memberText(one)}`,
  removed: (one: Named) => `gone: ${memberText(one)}`,
  revised: (before: Named, after: Named) =>
    before.revision === after.revision ? revisionText(before, after) : `revised: ${revisionText(before, after)}`,
  revision: (before: Named, after: Named) => capital(revisionText(before, after)),
  change: (what: string, before: string | null, after: string | null) =>
    before === null
      ? `${what}: now ${JSON.stringify(after)}`
      : after === null
        ? `${what}: was ${JSON.stringify(before)}, and is gone`
        : `${what}: was ${JSON.stringify(before)}, now ${JSON.stringify(after)}`,
  withoutCompare: '--with names the second of two baselines: name the first by --compare',
  oneThing: '--out, --freeze, --compare, --touches and --device-file are different things: ask for one of them',
  personWithoutFreeze: '--person goes with --freeze and --take alone: nothing is taken in without them',
  takeWithoutTouches: '--take goes with --touches: name the change',
} as const;
