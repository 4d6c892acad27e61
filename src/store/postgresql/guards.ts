import fs from 'node:fs';
import path from 'node:path';
import { PROGRAM_ROOT } from '../../base/settings.js';
import type { SchemaFault } from '../../ledger/stored-fault.js';
import type { Connections } from './connection.js';

const FILE = path.join(PROGRAM_ROOT, 'prisma', 'guards.postgresql.sql');

type NamedFault = Exclude<SchemaFault, { readonly what: 'history' }>;

/** Statements that make the guards, as their file has them. */
export const guardStatements = (): string[] =>
  fs
    .readFileSync(FILE, 'utf8')
    .split('\n')
    .filter((line) => line.startsWith('CREATE '));

/** Tables whose rows nobody changes. */
export const guardedTables = (): string[] =>
  guardStatements().flatMap((sql) => /"guard_(\w+)_rows"/.exec(sql)?.[1] ?? []);

/** Name of each guard, and how the engine writes it. */
function expectedGuards(): Map<string, string> {
  return new Map(
    guardedTables().flatMap((table) => [
      [
        `guard_${table}_rows`,
        `BEFORE DELETE OR UPDATE ON public."${table}" FOR EACH ROW EXECUTE FUNCTION refuse_change() O`,
      ],
      [
        `guard_${table}_all`,
        `BEFORE TRUNCATE ON public."${table}" FOR EACH STATEMENT EXECUTE FUNCTION refuse_change() O`,
      ],
    ]),
  );
}

/** What the function of the guards does, as its statement says it between the dollars. */
const expectedBody = (): string => /AS \$\$(.*)\$\$;/.exec(guardStatements()[0]!)![1]!;

/** Each guard that is missing, changed or put out of action, and each trigger on a table that is not ours. */
export async function guardFaults(sql: Connections): Promise<NamedFault[]> {
  const rows = await sql<{ name: string; written: string }[]>`
    SELECT t.tgname AS "name",
      regexp_replace(pg_get_triggerdef(t.oid), '^CREATE TRIGGER \\S+ ', '') || ' ' || t.tgenabled::text AS "written"
    FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid JOIN pg_namespace n ON n.oid = c.relnamespace
    WHERE n.nspname = 'public' AND NOT t.tgisinternal`;
  const [refuse] = await sql<{ body: string }[]>`
    SELECT p.prosrc AS "body" FROM pg_proc p JOIN pg_namespace n ON n.oid = p.pronamespace
    WHERE n.nspname = 'public' AND p.proname = 'refuse_change'`;
  const present = new Map(rows.map(({ name, written }) => [name, written]));
  const expected = expectedGuards();
  const named = (name: string, what: NamedFault['what']): NamedFault => ({ what, name });
  return [
    ...(refuse?.body === expectedBody() ? [] : [named('refuse_change', refuse ? 'was changed' : 'is missing')]),
    ...[...expected.keys()].filter((name) => !present.has(name)).map((name) => named(name, 'is missing')),
    ...[...expected]
      .filter(([name, written]) => (present.get(name) ?? written) !== written)
      .map(([name]) => named(name, 'was changed')),
    ...[...present.keys()].filter((name) => !expected.has(name)).map((name) => named(name, 'is not one of ours')),
  ];
}
