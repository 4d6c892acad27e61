import type { INestApplicationContext } from '@nestjs/common';
import { AppError } from '../base/errors.js';
import type { Meaning } from '../dossier/statement.js';
import { LotAssessor } from '../lots/lot-assessor.js';
import { Accounts } from '../people/accounts.js';
import { Signing } from '../signing/signing.js';
import { thingFrom } from '../signing/thing.js';
import { type Waiting, WaitingList } from '../signing/waiting-list.js';
import type { DemoPerson } from './demo-people.js';
import { PEOPLE } from './names.js';

/** What can be signed as soon as it came in; what waits for it, such as the approval of a document, comes a round later. */
const SITE_MEANINGS: readonly Meaning[] = ['performed', 'checked', 'approved'];
const RATIONALE =
  'Invented rationale: tomography of that height shows no inclusion, and an extra coupon keeps its limits.';
const MOST_ROUNDS = 6;

/** Signs as the invented people would, each with their own password, by the same rules as everybody. */
export class DemoSigner {
  private readonly accounts: Accounts;
  private readonly assessor: LotAssessor;
  private readonly signing: Signing;
  private readonly waiting: WaitingList;

  constructor(
    context: INestApplicationContext,
    private readonly people: ReadonlyMap<string, DemoPerson>,
  ) {
    this.accounts = context.get(Accounts);
    this.assessor = context.get(LotAssessor);
    this.signing = context.get(Signing);
    this.waiting = context.get(WaitingList);
  }

  /** What came in is signed by who wrote or measured it, checked, and approved. */
  async signWhatCameIn(): Promise<void> {
    for (let round = 0; round < MOST_ROUNDS; round++) {
      const open = (await this.waiting.all()).filter(
        ({ meaning, who }) => SITE_MEANINGS.includes(meaning) && who.length > 0,
      );
      if (open.length === 0) return;
      for (const meaning of SITE_MEANINGS) await this.signTogether(open.filter((item) => item.meaning === meaning));
    }
    throw new AppError('UNEXPECTED', 'the people of the demo sign in circles');
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

  /** Everybody signs what is theirs: one act for each kind of thing and lot, each with a proof of identity. */
  private async signTogether(items: readonly Waiting[]): Promise<void> {
    const acts = new Map<string, Waiting[]>();
    for (const item of items) {
      const act = `${signerOf(item)} ${thingFrom(item.thing).kind} ${item.lot}`;
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
        ...(first!.meaning === 'decided' ? { outcome: 'accepted' as const, reason: RATIONALE } : {}),
      });
    }
  }
}

/** The process engineer writes documents, so that the quality engineer can approve them. */
function signerOf({ meaning, who, thing }: Waiting): string {
  const author = thing.startsWith('method:') ? PEOPLE.analyst : PEOPLE.process;
  return meaning === 'performed' && who.includes(author) ? author : who[0]!;
}
