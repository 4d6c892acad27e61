import fs from 'node:fs';
import type { INestApplicationContext } from '@nestjs/common';
import { AppError } from '../base/errors.js';
import type { Output } from '../cli/output.js';
import { systemActor } from '../cli/run.js';
import { sha256Hex } from '../dossier/canonical.js';
import { actorFrom } from '../intake/command-actor.js';
import { sayCaseRanges, sayRanges } from '../lots/ranges/say-ranges.js';
import { ShownRanges } from '../lots/ranges/shown-ranges.js';
import type { DesignOrder } from '../report/design-template.js';
import { BASELINE_LINES } from '../report/phrases/baselines.js';
import { DESIGN_LINES } from '../report/phrases/commands/design.js';
import { RANGES } from '../report/phrases/ranges.js';
import { Store } from '../store/store.js';
import { type AsOf, readAsOf } from './as-of.js';
import { Baselines } from './baselines.js';
import { ChangeLists } from './change-lists.js';
import { DesignAnswers } from './design-answers.js';
import { DesignFileModule } from './design-file.module.js';
import { DesignPapers } from './paper/design-papers.js';
import { sayComparison, sayDesign, sayDeviceFile, sayTouched } from './say-design.js';

export const module = DesignFileModule;

/** Where gaps are open. */
const GAPS_OPEN = 4;

interface Options {
  readonly asOf?: string;
  readonly out?: string;
  readonly order: DesignOrder;
  readonly deviceFile?: boolean;
  readonly freeze?: string;
  readonly person?: string;
  readonly passwordStdin?: boolean;
  readonly touches?: string;
  readonly take?: boolean;
  readonly compare?: string;
  readonly with?: string;
  readonly ranges?: boolean;
  readonly case?: string;
}

export async function run(
  context: INestApplicationContext,
  out: Output,
  family: string,
  options: Options,
): Promise<number> {
  refuseMixed(options);
  const asOf = options.asOf === undefined ? undefined : await readAsOf(options.asOf, context.get(Store));
  if (options.freeze !== undefined) return freeze(context, out, family, options.freeze, options, asOf);
  if (options.compare !== undefined) {
    const found = await context
      .get(DesignAnswers)
      .ask('comparison', { family, from: options.compare, to: options.with, asOf });
    out.object(found);
    sayComparison(found, out);
    return 0;
  }
  if (options.ranges) return ranges(context, out, family, options.case);
  if (options.touches !== undefined) return touches(context, out, family, options.touches, options);
  if (options.deviceFile) {
    const found = await context.get(DesignAnswers).ask('deviceFile', { family, asOf });
    out.object(found);
    sayDeviceFile(found, out);
    return 0;
  }
  if (options.out !== undefined) return print(context, out, family, options.out, options, asOf);
  const answer = await context.get(DesignAnswers).ask('answer', { family, asOf });
  out.object(answer);
  sayDesign(answer, out);
  return answer.open > 0 ? GAPS_OPEN : 0;
}

async function ranges(
  context: INestApplicationContext,
  out: Output,
  family: string,
  code: string | undefined,
): Promise<number> {
  const shown = context.get(ShownRanges);
  if (code === undefined) {
    const answer = await shown.ofFamily(family);
    out.object(answer);
    sayRanges(answer, out);
    return 0;
  }
  const answer = await shown.ofCase(code);
  if (answer.family !== family) throw new AppError('BAD_INPUT', RANGES.ofOther(code, answer.family, family));
  out.object(answer);
  sayCaseRanges(answer, out);
  return 0;
}

async function print(
  context: INestApplicationContext,
  out: Output,
  family: string,
  file: string,
  { order }: Options,
  asOf: AsOf | undefined,
): Promise<number> {
  const { pdf, ...printed } = await context.get(DesignPapers).print(family, systemActor(), order, asOf);
  fs.writeFileSync(file, pdf, { mode: 0o600 });
  out.object({ ...printed, family, file, sha256: sha256Hex(pdf) });
  out.line(DESIGN_LINES.printed(printed.number, file, printed.draft, printed.open));
  return printed.open > 0 ? GAPS_OPEN : 0;
}

async function touches(
  context: INestApplicationContext,
  out: Output,
  family: string,
  change: string,
  options: Options,
): Promise<number> {
  const lists = context.get(ChangeLists);
  const found = options.take
    ? await lists.freeze(family, change, await actorFrom(context, options))
    : await lists.of(family, change);
  out.object(found);
  sayTouched(found, options.take === true, out);
  return 0;
}

/** @throws AppError BAD_INPUT for options of two different acts. */
function refuseMixed({
  freeze,
  person,
  passwordStdin,
  compare,
  with: other,
  out,
  deviceFile,
  touches,
  take,
  ranges,
  case: code,
  asOf,
}: Options): void {
  const wrong = (says: string) => new AppError('BAD_INPUT', says);
  const acts = [freeze, compare, out, deviceFile, touches, ranges].filter((one) => one !== undefined);
  if (acts.length > 1) throw wrong(BASELINE_LINES.oneThing);
  if (other !== undefined && compare === undefined) throw wrong(BASELINE_LINES.withoutCompare);
  if (code !== undefined && !ranges) throw wrong(RANGES.caseWithoutRanges);
  if (ranges && asOf !== undefined) throw wrong(RANGES.now);
  if (take && touches === undefined) throw wrong(BASELINE_LINES.takeWithoutTouches);
  if ((person !== undefined || passwordStdin) && freeze === undefined && !take)
    throw wrong(BASELINE_LINES.personWithoutFreeze);
}

async function freeze(
  context: INestApplicationContext,
  out: Output,
  family: string,
  name: string,
  options: Options,
  asOf: AsOf | undefined,
): Promise<number> {
  const frozen = await context.get(Baselines).freeze(family, name, await actorFrom(context, options), asOf);
  out.object(frozen);
  out.line(BASELINE_LINES.frozen(name, frozen.members.length, frozen.asOf.entries));
  return 0;
}
