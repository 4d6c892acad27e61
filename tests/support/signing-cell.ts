import path from 'node:path';
import { AppError } from '../../src/base/errors.js';
import { digestOf } from '../../src/dossier/canonical.js';
import { reviewItemText } from '../../src/report/phrases/review-items.js';
import type { SignRequest } from '../../src/signing/signing.js';
import { thingFrom } from '../../src/signing/thing.js';
import { DataFolder } from '../../src/store/data-folder.js';
import { addLot, type Cell, logText, makeCell, siteOf, temporaryFolder, writeCell } from './cell.js';
import { PASSWORD } from './people.js';
import { openServices, type Services } from './services.js';
import { signWhatCameIn } from './sign-cell.js';
import { copyOfTemplate } from './template.js';

/** Trainings that deciding, reviewing and releasing need, from the first day of the cell. */
export function trainDeciders(cell: Cell): void {
  const person = (code: string, name: string, operations: readonly string[]) => ({
    kind: 'person',
    format: 1,
    person: code,
    name,
    function: 'invented',
    qualifications: operations.map((operation) => ({ operation, from: '2031-01-02' })),
  });
  cell.documents['site/people/quality.yaml'] = person('P-QE', 'Quentin Example', [
    'lot review',
    'decisions on findings',
  ]);
  cell.documents['site/people/process.yaml'] = person('P-PE', 'Pia Example', ['decisions on findings']);
  cell.documents['site/people/releaser.yaml'] = person('P-RE', 'Rita Example', ['lot release']);
}

/** Oxygen by second: 8 ppm and what the table says; alert above 20, action above 50, reject above 100. */
export type Peaks = Readonly<Record<number, number>>;

export function addLotWithPeaks(cell: Cell, code: string, run: number, peaks: Peaks): void {
  addLot(cell, code, run, '2031-03-03', { rm: 230, thickness: 1.5 });
  cell.files[`lots/${code}/logs/run.csv`] = logText('2031-03-03', (second) => peaks[second] ?? 8, run);
}

/** What the route of a plate asks before it may be distributed: its lots are cleaned, packed and labelled the day after. */
export function finishLots(cell: Cell): void {
  for (const document of Object.values(cell.documents)) {
    const [build] = document.kind === 'lot' ? (document.builds ?? []) : [];
    if (build === undefined || build.openedAt === undefined || document.steps !== undefined) continue;
    const day = new Date(Date.parse(build.openedAt) + 86_400_000).toISOString().slice(0, 10);
    const count = document.implants.length;
    document.steps = [
      { step: 'clean', at: `${day}T10:00:00+01:00`, by: 'P-OP' },
      { step: 'pack', at: `${day}T11:00:00+01:00`, by: 'P-OP' },
    ];
    document.labels ??= {
      printed: count,
      used: count,
      destroyed: 0,
      inspected: { sample: count, by: 'P-OP', at: `${day}T11:30:00+01:00` },
    };
  }
}

/** A cell whose documents and results are signed and whose lots wait for decisions, reviews and releases. */
export class SigningCell {
  private constructor(
    readonly services: Services,
    readonly folder: DataFolder,
    readonly cell: Cell,
    readonly root: string,
  ) {}

  /** @param change adds lots or spoils something before the files come in, on 2031-03-05. */
  static async open(change: (cell: Cell) => void = () => undefined): Promise<SigningCell> {
    const cell = makeCell();
    trainDeciders(cell);
    change(cell);
    finishLots(cell);
    const data = path.join(temporaryFolder('signing'), 'data');
    await copyOfTemplate(`signed-${digestOf(cell)}`, (made) => SigningCell.make(cell, made), data);
    const folder = DataFolder.open(data);
    return new SigningCell(await openServices(folder), folder, cell, writeCell(cell));
  }

  private static async make(cell: Cell, data: string): Promise<void> {
    const root = writeCell(cell);
    const site = path.join(root, 'site');
    // Most cells differ in their lots alone.
    await copyOfTemplate(`signed-site-${digestOf(siteOf(cell))}`, (made) => SigningCell.makeSite(site, made), data);
    const folder = DataFolder.open(data);
    folder.advanceTo('2031-03-05T12:00:00Z');
    const opened = new SigningCell(await openServices(folder), folder, cell, root);
    await opened.intake();
    await opened.close();
  }

  private static async makeSite(site: string, data: string): Promise<void> {
    const services = await openServices(DataFolder.createDemo(data, '2031-01-20T12:00:00Z'));
    await services.intake.run(site, 'local:tester');
    await signWhatCameIn(services);
    await services.store.close();
  }

  /** Takes in the folder as it stands in `cell`, and lets people sign what came in. */
  async intake(): Promise<void> {
    writeCell(this.cell, this.root);
    await this.services.intake.run(this.root, 'local:tester');
    await signWhatCameIn(this.services);
  }

  close(): Promise<void> {
    return this.services.store.close();
  }

  prove(person: string) {
    return this.services.accounts.prove(person, PASSWORD);
  }

  async sign(person: string, thing: string | readonly string[], request: Omit<SignRequest, 'things'>) {
    const things = [thing].flat().map(thingFrom);
    return this.services.signing.sign(await this.prove(person), { things, ...request });
  }

  review(lot: string, person = 'P-QE') {
    return this.sign(person, `lot file:${lot}`, { meaning: 'reviewed' });
  }

  release(lot: string, units: readonly string[], person = 'P-RE') {
    return this.sign(person, `lot file:${lot}`, { meaning: 'released', step: 'distribution', units });
  }

  reject(lot: string, units: readonly string[], reason: string, person = 'P-RE') {
    return this.sign(person, `lot file:${lot}`, { meaning: 'rejected', units, reason });
  }

  decide(person: string, things: readonly string[], outcome: 'accepted' | 'rejected' = 'accepted') {
    return this.sign(person, things, { meaning: 'decided', outcome, reason: 'invented rationale' });
  }

  /** Names of the log findings of a lot at one level, as the sign page takes them. */
  async logFindings(lot: string, level: string): Promise<string[]> {
    const logs = await this.services.store.read.logs.ofLot(lot);
    const found = logs.flatMap((log) => log.part.findings).filter((finding) => finding.level === level);
    return found.map(({ id }) => `log finding:${id.slice(0, 12)}#${id}`);
  }

  /** What was refused on a lot, as its reviewer reads it. */
  async refusals(lot: string): Promise<string[]> {
    const { facts } = await this.services.assessor.assess(lot, 'local:tester');
    const list = await this.services.reviewList.of(facts);
    return list.filter(({ kind }) => kind === 'refused act').map((item) => `${item.by}: ${reviewItemText(item)}`);
  }
}

/** What an act said when it was refused. A test that expects a refusal fails when there is none. */
export async function refusalOf(act: Promise<unknown>): Promise<string> {
  const outcome = await act.then(
    () => undefined,
    (error: unknown) => error,
  );
  if (!(outcome instanceof AppError)) throw new Error(`it was not refused: ${String(outcome)}`);
  return `${outcome.code}: ${outcome.message}`;
}
