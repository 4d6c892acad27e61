import type { INestApplicationContext } from '@nestjs/common';
import { z } from 'zod';
import { BadInputError } from '../base/errors.js';
import type { Output } from '../cli/output.js';
import { RELEASE_STEPS, type ReleaseStep } from '../dossier/release-step.js';
import { Meaning } from '../dossier/statement.js';
import { proveAtCommand } from '../people/prove-at-command.js';
import { SIGNING_LINES } from '../report/phrases/commands/signing.js';
import { entryText } from '../report/phrases/kinds.js';
import { type BeforeSigning, SigningPreview } from './before-signing.js';
import { beforeSigningAnswer } from './sign-answers.js';
import { Seen } from './sign-requests.js';
import { Signing } from './signing.js';
import { SigningModule } from './signing.module.js';
import { thingFrom } from './thing.js';

export const module = SigningModule;

interface SignOptions {
  readonly person: string;
  readonly meaning: string;
  readonly units?: string;
  readonly for?: string;
  readonly outcome?: string;
  readonly reason?: string;
  readonly look?: boolean;
  readonly seen?: string;
  readonly passwordStdin?: boolean;
}

const LIST = /[\s,]+/;

export async function run(
  context: INestApplicationContext,
  out: Output,
  things: string[],
  options: SignOptions,
): Promise<number> {
  const meaning = meaningFrom(options.meaning);
  const named = things.map(thingFrom);
  const step = stepFrom(options.for);
  if (options.look) {
    return look(out, await context.get(SigningPreview).all(named, meaning, options.person, step), meaning);
  }
  const request = {
    things: named,
    meaning,
    units: (options.units ?? '').split(LIST).filter((serial) => serial !== ''),
    step,
    outcome: outcomeFrom(options.outcome),
    reason: options.reason,
    seen: seenFrom(options.seen),
  };
  const [proof] = await proveAtCommand(context, [options.person], { ...options, page: '/sign' });
  const signed = await context.get(Signing).sign(proof!, request);
  out.object({ signed });
  const { statement, digest } = signed;
  const { subjects, person, at } = statement;
  for (const { kind, key, revision } of subjects) out.line(entryText(kind, key, revision));
  out.line(SIGNING_LINES.signed(statement, person.name, person.role, at, digest.slice(0, 12)));
  return 0;
}

/** What the page on which people sign shows, as far as lines take it. */
function look(out: Output, found: readonly BeforeSigning[], meaning: Meaning): number {
  const answer = beforeSigningAnswer(found, meaning);
  out.object(answer);
  for (const { thing, title, shows, changes, mayNot } of answer.things) {
    out.line(SIGNING_LINES.signs({ meaning, step: answer.step }, title));
    for (const [name, value] of shows) out.line(`  ${SIGNING_LINES.shown(name, value)}`);
    for (const change of changes) out.line(`  ${SIGNING_LINES.change(change)}`);
    if (mayNot !== null) out.line(`  ${SIGNING_LINES.mayNot(mayNot)}`);
    out.line(`  "${thing}"`);
  }
  for (const { serial, verdict, mayNot } of answer.units ?? []) {
    out.line(`  ${SIGNING_LINES.unit(serial, verdict, mayNot)}`);
  }
  for (const says of answer.summary) out.line(SIGNING_LINES.exception(says));
  for (const { kind, says, by, at } of answer.reviewList) out.line(SIGNING_LINES.review(kind, says, by, at));
  if (answer.outOfDate !== null) out.line(answer.outOfDate);
  if (answer.seen !== '') out.line(SIGNING_LINES.seen(answer.seen));
  return 0;
}

function seenFrom(text: string | undefined): string | undefined {
  const found = Seen.optional().safeParse(text);
  if (found.success) return found.data;
  throw badOption('--seen', text!, 'the text that --look shows under "seen"', 'look once more and copy it');
}

function meaningFrom(text: string): Meaning {
  const found = Meaning.safeParse(text);
  if (found.success) return found.data;
  throw badOption('--meaning', text, Meaning.options.join(', '));
}

function stepFrom(text: string | undefined): ReleaseStep | undefined {
  const found = z.enum(RELEASE_STEPS).optional().safeParse(text);
  if (found.success) return found.data;
  throw badOption('--for', text!, RELEASE_STEPS.join(' or '));
}

function outcomeFrom(text: string | undefined): 'accepted' | 'rejected' | undefined {
  if (text === undefined || text === 'accepted' || text === 'rejected') return text;
  throw badOption('--outcome', text, 'accepted or rejected');
}

const badOption = (field: string, found: string, expected: string, remedy = 'write one of these') =>
  new BadInputError([{ code: 'option', field, found, expected, remedy }]);
