import type { DesignAnswers } from '../../design-file/design-answers.js';
import { ENDING_KINDS, type Ending, type Expiring, endings, expiringWithin } from '../../lots/expiring.js';
import type { FamilyStudies } from '../../lots/family-studies.js';
import { anyOf, ofType, Remembered, revisionsOf, type Touches } from '../../store/remembered.js';
import type { Store } from '../../store/store.js';
import { designDuties, designsNotKnown } from './design-duties.js';
import type { Duty } from './duty.js';
import { signalDuties } from './signal-duties.js';
import { caseDuties, correctiveDuties, nonconformityDuties } from './site-duties.js';

const ENDING_WITHIN_DAYS = 30;

const withdrawn: Touches = (entry) => entry.type === 'event-recorded' && entry.event === 'document-withdrawn';

/**
 * What duties ask of all documents of some kinds, kept until something touches it: a page asks no more of a thousand lots
 * than of ten.
 */
export class KeptAnswers {
  private readonly open = new Remembered<readonly Duty[]>(revisionsOf('nonconformity'), nonconformityDuties);
  private readonly actions = new Remembered<readonly Duty[]>(revisionsOf('corrective-action'), (read) =>
    correctiveDuties(read, this.today),
  );
  private readonly undesigned = new Remembered<readonly Duty[]>(
    anyOf(revisionsOf('case', 'case-design', 'implant'), ofType('statement-signed')),
    (read) => caseDuties(read, this.today),
  );
  private readonly ends = new Remembered<readonly Ending[]>(revisionsOf(...ENDING_KINDS), endings);
  // Rules on designs follow whatever documents name.
  private readonly unfilled = new Remembered<readonly Duty[]>(
    anyOf(ofType('revision-recorded', 'results-recorded', 'statement-signed'), withdrawn),
    () => designDuties(this.designs),
  );
  private readonly unexplained = new Remembered<readonly Duty[]>(
    anyOf(
      revisionsOf('family', 'capability-plan', 'specification', 'signal-outcome'),
      ofType('lot-summarised', 'statement-signed'),
      withdrawn,
    ),
    async () => signalDuties(await this.studies.openSignals(), this.today),
  );

  constructor(
    private readonly store: Store,
    private readonly studies: FamilyStudies,
    private readonly designs: DesignAnswers,
  ) {}

  nonconformities = (): Promise<readonly Duty[]> => this.open.of(this.store.read);
  corrective = (): Promise<readonly Duty[]> => this.actions.of(this.store.read, this.today);
  cases = (): Promise<readonly Duty[]> => this.undesigned.of(this.store.read, this.today);
  /** What is not known now is not kept: it is asked for anew. */
  gaps = (): Promise<readonly Duty[]> => this.unfilled.of(this.store.read, this.today).catch(designsNotKnown);
  /** A plan may take effect at any minute. */
  signals = (): Promise<readonly Duty[]> => this.unexplained.of(this.store.read, this.now.slice(0, 16));
  ending = async (): Promise<readonly Expiring[]> =>
    expiringWithin(await this.ends.of(this.store.read), this.store.clock.now(), ENDING_WITHIN_DAYS);

  /** Asks everything, so that it is there when a page asks. */
  async ahead(): Promise<void> {
    for (const ask of [this.nonconformities, this.corrective, this.cases, this.gaps, this.signals, this.ending])
      await ask();
  }

  private get now(): string {
    return this.store.clock.now().toISOString();
  }

  private get today(): string {
    return this.now.slice(0, 10);
  }
}
