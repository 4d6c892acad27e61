import type { INestApplicationContext } from '@nestjs/common';
import { AppError } from '../base/errors.js';
import type { Meaning } from '../dossier/statement.js';
import { LotAssessor } from '../lots/lot-assessor.js';
import { Accounts } from '../people/accounts.js';
import { capabilityToSign } from '../signing/capability-subject.js';
import { Signing } from '../signing/signing.js';
import { thingFrom } from '../signing/thing.js';
import { type Waiting, WaitingList } from '../signing/waiting-list.js';
import { Store } from '../store/store.js';
import type { DemoPerson } from './demo-people.js';
import { PEOPLE } from './names.js';

/**
 * What can be signed as soon as it came in; what waits for it, such as the approval of a document, comes a round later. What is
 * decided there are dispositions: findings of lots wait for their close-out.
 */
const SITE_MEANINGS: readonly Meaning[] = ['performed', 'checked', 'decided', 'approved'];
/** Things of one case, which nobody signs together with those of another. */
const OF_ONE_CASE: ReadonlySet<string> = new Set([
  'case-design',
  'design-acceptance',
  'support-window',
  'custom statement',
]);
const RATIONALE =
  'Invented rationale: tomography of that height shows no inclusion, and an extra coupon keeps its limits.';
/** Where the decision is about something else than a log. */
const RATIONALES: Readonly<Record<string, string>> = {
  'loads-kept': 'Invented rationale: all of it was sterilised again, in a load of which every indicator passed.',
  'repeats-decided': 'Invented rationale: the curve shows the slip, and the spare coupon keeps its limits.',
};
const OF_DISPOSITIONS = 'Invented rationale: as the nonconformity says, and nothing else is touched.';
const OF_STATEMENTS = 'Invented rationale: read row by row; what the notes ask about was known and changes no value.';
const isStatement = (thing: string): boolean => thingFrom(thing).kind === 'capability statement';
const MOST_ROUNDS = 6;

/** Signs as the invented people would, each with their own password, by the same rules as everybody. */
export class DemoSigner {
  private readonly accounts: Accounts;
  private readonly assessor: LotAssessor;
  private readonly signing: Signing;
  private readonly waiting: WaitingList;
  private readonly store: Store;

  constructor(
    context: INestApplicationContext,
    private readonly people: ReadonlyMap<string, DemoPerson>,
  ) {
    this.accounts = context.get(Accounts);
    this.assessor = context.get(LotAssessor);
    this.signing = context.get(Signing);
    this.waiting = context.get(WaitingList);
    this.store = context.get(Store);
  }

  /** What came in is signed by who wrote or measured it, checked, and approved. */
  async signWhatCameIn(): Promise<void> {
    for (let round = 0; round < MOST_ROUNDS; round++) {
      const open = (await this.waiting.all()).filter(
        ({ meaning, who, lot }) =>
          SITE_MEANINGS.includes(meaning) && who.length > 0 && (meaning !== 'decided' || lot === null),
      );
      if (open.length === 0) return;
      for (const meaning of SITE_MEANINGS) await this.signTogether(open.filter((item) => item.meaning === meaning));
    }
    throw new AppError('UNEXPECTED', 'the people of the demo sign in circles');
  }

  /** What was stated of families is reviewed, with a reason where it asks for one. */
  async reviewStatements(): Promise<void> {
    const open = (await this.waiting.all()).filter(
      ({ meaning, thing }) => meaning === 'reviewed' && isStatement(thing),
    );
    for (const item of open) {
      const person = signerOf(item);
      const { asksWhy = [] } = await capabilityToSign(this.store.read, thingFrom(item.thing));
      await this.signing.sign(await this.accounts.prove(person, this.people.get(person)!.password), {
        things: [thingFrom(item.thing)],
        meaning: 'reviewed',
        units: [],
        ...(asksWhy.length === 0 ? {} : { reason: OF_STATEMENTS }),
      });
    }
  }

  /** Decides, reviews and releases one lot, as far as it may be released. */
  async closeOut(lot: string): Promise<void> {
    await this.assessor.assess(lot, 'local:demo');
    for (let round = 0; round < MOST_ROUNDS; round++) {
      const open = (await this.waiting.all()).filter(
        (item) => item.lot === lot && item.meaning !== 'rejected' && item.who.length > 0,
      );
      const next = open.find(({ meaning }) => meaning === 'decided') ?? open[0];
      if (!next) return;
      const alike = open.filter((item) => item.meaning === next.meaning && item.group === next.group);
      await this.signTogether(next.group === null ? [next] : alike);
    }
  }

  /** The first release that waits is refused, by what has to hold on the day. */
  async beRefused(lot: string): Promise<void> {
    try {
      await this.closeOut(lot);
    } catch (error) {
      if (error instanceof AppError && error.code === 'REFUSED') return;
      throw error;
    }
    throw new AppError('UNEXPECTED', `a release of lot ${lot} was to be refused, and was not`);
  }

  async reject({ lot, units, reason }: { lot: string; units: readonly string[]; reason: string }): Promise<void> {
    const item = (await this.waiting.ofLots([lot])).find(({ meaning }) => meaning === 'rejected');
    if (!item) throw new AppError('UNEXPECTED', `nothing of lot ${lot} is to be rejected`);
    const person = signerOf(item);
    await this.signing.sign(await this.accounts.prove(person, this.people.get(person)!.password), {
      things: [thingFrom(item.thing)],
      meaning: 'rejected',
      units,
      reason,
    });
  }

  /** Everybody signs what is theirs: one act for each kind of thing, lot and case, each with a proof of identity. */
  private async signTogether(items: readonly Waiting[]): Promise<void> {
    const acts = new Map<string, Waiting[]>();
    for (const item of items) {
      const { kind, key } = thingFrom(item.thing);
      const act = `${signerOf(item)} ${kind} ${item.lot} ${OF_ONE_CASE.has(kind) ? key : ''}`;
      acts.set(act, [...(acts.get(act) ?? []), item]);
    }
    for (const own of acts.values()) {
      const [first] = own;
      const person = signerOf(first!);
      await this.signing.sign(await this.accounts.prove(person, this.people.get(person)!.password), {
        things: own.map(({ thing }) => thingFrom(thing)),
        meaning: first!.meaning,
        units: first!.units,
        ...(first!.step === null ? {} : { step: first!.step }),
        ...(first!.meaning === 'decided' ? { outcome: 'accepted' as const, reason: rationaleFor(first!) } : {}),
      });
    }
  }
}

/** A finding of a check names it in its group. */
function rationaleFor({ lot, group }: Waiting): string {
  if (lot === null) return OF_DISPOSITIONS;
  const [, check] = (group ?? '').split(' ');
  return RATIONALES[check ?? ''] ?? RATIONALE;
}

/** The process engineer writes documents, so that the quality engineer can approve them. */
function signerOf({ meaning, who, thing }: Waiting): string {
  const author = thing.startsWith('method:') ? PEOPLE.analyst : PEOPLE.process;
  return meaning === 'performed' && who.includes(author) ? author : who[0]!;
}
