import type { Command } from 'commander';
import { BadInputError } from '../base/errors.js';
import { exits } from '../cli/exits.js';
import { passwordsOf } from '../cli/passwords.js';
import type { Run } from '../cli/run.js';
import { Meaning } from '../dossier/statement.js';
import { thingFrom } from './thing.js';

interface SignOptions {
  readonly person: string;
  readonly meaning: string;
  readonly units?: string;
  readonly outcome?: string;
  readonly reason?: string;
  readonly passwordStdin?: boolean;
}

const LIST = /[\s,]+/;

/** Signing from a terminal, and the list of what waits. */
export function addSignCommand(program: Command, run: Run): void {
  exits(program.command('sign'), { 5: 'refused', 7: 'no such thing' })
    .argument('<thing...>', 'what is signed: recipe:BP-RECIPE@4, "lot file:L-2026-013"; see "lotwright waiting"')
    .requiredOption('--person <code>', 'who signs')
    .requiredOption('--meaning <meaning>', Meaning.options.join(', '))
    .option('--units <serials>', 'units of the lot, separated by commas: for released and rejected')
    .option('--outcome <outcome>', 'accepted or rejected: for decided')
    .option('--reason <text>', 'rationale of a decision, reason of a rejection or of a second implant for one case')
    .option('--password-stdin', 'reads the password from standard input instead of asking')
    .description(
      'signs as a person: one statement on all that is named, of one kind and one lot; the password is asked for each time',
    )
    .action((things: string[], options: SignOptions) =>
      run(async ({ accounts, signing }, out) => {
        const request = {
          things: things.map(thingFrom),
          meaning: meaningFrom(options.meaning),
          units: (options.units ?? '').split(LIST).filter((serial) => serial !== ''),
          outcome: outcomeFrom(options.outcome),
          reason: options.reason,
        };
        const [password] = await passwordsOf([options.person], options.passwordStdin === true);
        const proof = await accounts.prove(options.person, password!);
        const signed = await signing.sign(proof, request);
        out.object({ signed });
        const { statement, digest } = signed;
        const { subjects, person, meaning, at } = statement;
        for (const { kind, key } of subjects) out.line(`${kind} ${key}`);
        out.line(`${meaning} by ${person.name} (${person.role}) at ${at}, statement ${digest.slice(0, 12)}`);
        return 0;
      }),
    );

  exits(program.command('waiting'))
    .option('--person <code>', 'only what this person may sign')
    .description('what waits for a signature, and who may give it')
    .action((options: { person?: string }) =>
      run(async ({ waiting }, out) => {
        const all = await waiting.all();
        const shown = options.person === undefined ? all : all.filter(({ who }) => who.includes(options.person!));
        out.object({ waiting: shown });
        if (shown.length === 0) out.line('Nothing waits.');
        for (const { title, meaning, lot, neededBy, who, thing } of shown) {
          out.line(`${meaning}: ${title}${lot === null ? '' : ` (lot ${lot}, needed by ${neededBy ?? 'nobody'})`}`);
          out.line(`  may sign: ${who.join(', ') || 'nobody, which is a deadlock: see the page Authority'}`);
          out.line(`  "${thing}"`);
        }
        return 0;
      }),
    );
}

function meaningFrom(text: string): Meaning {
  const found = Meaning.safeParse(text);
  if (found.success) return found.data;
  throw badOption('--meaning', text, Meaning.options.join(', '));
}

function outcomeFrom(text: string | undefined): 'accepted' | 'rejected' | undefined {
  if (text === undefined || text === 'accepted' || text === 'rejected') return text;
  throw badOption('--outcome', text, 'accepted or rejected');
}

const badOption = (field: string, found: string, expected: string) =>
  new BadInputError([{ code: 'option', field, found, expected, remedy: 'write one of these' }]);
