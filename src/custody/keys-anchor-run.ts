import fs from 'node:fs';
import path from 'node:path';
import { BadInputError } from '../base/errors.js';
import type { Output } from '../cli/output.js';
import { type CommonOptions, dataFolderOf } from '../cli/run.js';
import { headLine } from '../ledger/checkpoint.js';
import { proveOver } from '../people/prove-at-command.js';
import { CUSTODY_LINES } from '../report/phrases/commands/custody.js';
import { AnchorFile } from '../store/anchor-file.js';
import { ENGINE } from '../store/chosen-engine.js';
import { DataFolder } from '../store/data-folder.js';
import { Store } from '../store/store.js';
import { renewAnchor } from './outside-acts.js';

interface AnchorOptions {
  readonly also?: string;
  readonly renew?: boolean;
  readonly person?: string;
  readonly second?: string;
  readonly reason?: string;
  readonly passwordStdin?: boolean;
}

export async function run(out: Output, common: CommonOptions, options: AnchorOptions): Promise<number> {
  const found = DataFolder.existing(dataFolderOf(common));
  const folder = options.also === undefined ? found : placedAlso(found, options.also);
  const store = await Store.open(folder, ENGINE.open(folder), { anchored: options.renew !== true });
  try {
    if (options.renew) await renew(store, out, options);
    else await print(store, out);
    return 0;
  } finally {
    await store.close();
  }
}

/** Where the file is there already it is compared with the folder, like every anchor. */
function placedAlso(folder: DataFolder, also: string): DataFolder {
  const file = path.resolve(also);
  fs.mkdirSync(path.dirname(file), { recursive: true });
  const own = AnchorFile.beside(folder.path).read();
  if (!fs.existsSync(file)) new AnchorFile(file).replace(own);
  return folder.withSecondAnchor(file);
}

async function print({ anchor, key, read }: Store, out: Output): Promise<void> {
  const { firstKey, head } = anchor.read();
  const line = head && headLine(head);
  const [firstPerson] = (await read.events.knownKeys()).people.keys.values();
  out.object({ firstKey, inUse: key.fingerprint, people: firstPerson?.fingerprint ?? null, head: line });
  for (const text of CUSTODY_LINES.anchor(firstKey, key.fingerprint, line)) out.line(text);
  if (firstPerson) out.line(CUSTODY_LINES.firstPerson(firstPerson.name, firstPerson.fingerprint));
}

async function renew(store: Store, out: Output, options: AnchorOptions): Promise<void> {
  const { person, second, reason } = options;
  if (person === undefined || second === undefined || reason === undefined) throw incomplete();
  const [first, other] = await proveOver(store, [person, second], options);
  const renewed = await renewAnchor(store, [first!, other!], reason);
  out.object(renewed);
  out.line(CUSTODY_LINES.anchorRenewed(renewed.size, renewed.persons));
}

const incomplete = () =>
  new BadInputError([
    {
      code: 'option',
      field: '--renew',
      expected: '--person, --second and --reason beside it',
      remedy: 'name two people, one of them an administrator, and why',
    },
  ]);
