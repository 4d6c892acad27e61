import fs from 'node:fs';
import path from 'node:path';
import { BadInputError } from '../base/errors.js';
import type { Output } from '../cli/output.js';
import { type CommonOptions, dataFolderOf, systemActor } from '../cli/run.js';
import { headLine } from '../ledger/checkpoint.js';
import { proveOver } from '../people/prove-at-command.js';
import { CUSTODY_LINES } from '../report/phrases/commands/custody.js';
import { AnchorFile } from '../store/anchor-file.js';
import { AnchorUrl } from '../store/anchor-url.js';
import { DataFolder } from '../store/data-folder.js';
import { Store } from '../store/store.js';
import { renewAnchor } from './outside-acts.js';
import { placeNamed } from './witnesses.js';

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
  if (options.renew && options.also !== undefined && AnchorUrl.isAddress(options.also)) throw oneByOne(options.also);
  const folder = options.also === undefined ? found : await placedAlso(found, options.also);
  const store = await Store.open(folder, undefined, { anchored: options.renew !== true });
  try {
    if (options.also !== undefined && !options.renew) await namePlace(store, found.secondAnchor);
    if (options.renew) {
      await renew(store, out, options);
      if (options.also !== undefined) await namePlace(store, found.secondAnchor);
    } else await print(store, out);
    return 0;
  } finally {
    await store.close();
  }
}

/** What is there already is compared with the folder, like every anchor. */
async function placedAlso(folder: DataFolder, also: string): Promise<DataFolder> {
  const own = AnchorFile.beside(folder.path).read();
  if (AnchorUrl.isAddress(also)) {
    const place = AnchorUrl.ofFolder(folder.path, also);
    // What was left in another place says nothing of this one.
    if (folder.secondAnchor !== also) place.forget();
    await place.begin(own);
    await place.read();
    return folder.withSecondAnchor(also);
  }
  const file = path.resolve(also);
  fs.mkdirSync(path.dirname(file), { recursive: true });
  if (!fs.existsSync(file)) new AnchorFile(file).replace(own);
  return folder.withSecondAnchor(file);
}

/** In the audit trail: whoever takes the place out of the settings of the folder is named by the next check. */
async function namePlace(store: Store, inSettings: string | undefined): Promise<void> {
  const place = store.folder.secondAnchor!;
  // Without a key nothing can be recorded: then this is done when the command is repeated.
  if (!store.key.isHeld) return;
  const named = await placeNamed(store);
  if (inSettings === place && named === place) return;
  await store.change(systemActor(), (change) =>
    change.events.add({ type: 'second-place-named', place, before: named ?? inSettings ?? null }),
  );
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
  if (renewed.leftAddress !== null) out.line(CUSTODY_LINES.addressLeft(renewed.leftAddress));
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

const oneByOne = (found: string) =>
  new BadInputError([
    {
      code: 'option',
      field: '--also',
      found,
      expected: 'no address beside --renew: it would keep the head that is left',
      remedy: 'accept the audit trail first, then name the address',
    },
  ]);
