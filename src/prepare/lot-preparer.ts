import { randomUUID } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { Injectable } from '@nestjs/common';
import { stamp } from '../base/clock.js';
import { AppError } from '../base/errors.js';
import { programName } from '../base/settings.js';
import { localDay } from '../base/stamp.js';
import { revisionKey } from '../dossier/facts.js';
import type { Coupon } from '../kinds/lot.js';
import { PREPARE_REFUSALS } from '../report/phrases/prepare-refusals.js';
import type { Reads } from '../store/repositories.js';
import { Store } from '../store/store.js';
import { type Basis, basisFor } from './basis.js';
import { lotText } from './lot-text.js';
import { type Names, type PreparedLot, prepareLot } from './prepared-lot.js';
import { sheetTexts } from './sheet-texts.js';

export interface WrittenLot {
  readonly lot: string;
  readonly serial: string;
  readonly folder: string;
  /** Paths below the folder. */
  readonly files: readonly string[];
}

/** Lot folders for cases, ready to fill in. Nothing of them is stored: intake takes them in like any other. */
@Injectable()
export class LotPreparer {
  constructor(private readonly store: Store) {}

  /**
   * Writes the folder whole, or not at all.
   * @throws as `prepared`; AppError CONFLICT where there is something already.
   */
  async prepare(code: string, out?: string): Promise<WrittenLot> {
    const lot = await this.prepared(code);
    const { lot: name, serial } = lot.names;
    const folder = path.resolve(out ?? path.join(this.store.folder.path, 'prepared', name));
    if (fs.existsSync(folder)) throw new AppError('CONFLICT', PREPARE_REFUSALS.folderThere(folder), { folder });
    const sheet = await this.buildSheet(lot);
    const files: Record<string, string | Buffer> = {
      'lot.yaml': lotText(lot),
      ...sheetTexts(lot),
      'build-sheet.pdf': sheet,
    };
    writeFolder(folder, files);
    return { lot: name, serial, folder, files: Object.keys(files) };
  }

  async buildSheet(lot: PreparedLot): Promise<Buffer> {
    const { renderBuildSheet } = await import('./build-sheet.js');
    return renderBuildSheet(lot, { program: programName(), printedAt: stamp(this.store.clock).utc });
  }

  /**
   * @param given codes that are given already; free ones when absent.
   * @throws NotFoundError without such a case, AppError REFUSED when it cannot be built by what is there.
   */
  async prepared(code: string, given?: Names): Promise<PreparedLot> {
    const { read, clock } = this.store;
    const now = stamp(clock);
    const basis = await basisFor(read, code, now.utc);
    const names = given ?? (await namesFor(read, basis, now.utc));
    const destructive = new Set<string>();
    for (const { method } of basis.specification.body.characteristics) {
      const found = await read.entries.revision('method', method.method, method.revision);
      if (found?.body.destructive === 'destructive') destructive.add(revisionKey(method.method, method.revision));
    }
    const studies = (await read.entries.list('equivalence-study')).filter(({ body }) => {
      const { family, machine, recipeGroups, validUntil } = body;
      const recipe = basis.recipe.body;
      const isOver = validUntil !== undefined && validUntil.slice(0, 10) < localDay(now);
      return !isOver && family === recipe.family && machine === recipe.machine && recipeGroups.includes(recipe.group);
    });
    const studyOf = (zoneClass: string | undefined): Coupon['study'] => {
      const found = studies.find(({ body }) => zoneClass === undefined || body.zoneClasses.includes(zoneClass));
      return found && { study: found.key, revision: found.revision };
    };
    return prepareLot(basis, names, (method) => destructive.has(method), studyOf);
  }
}

/** Codes follow from case and machine; where one is taken, the next number is added. */
async function namesFor(read: Reads, { case: { key }, design, recipe }: Basis, openedAt: string): Promise<Names> {
  const free = async (kind: string, wanted: string): Promise<string> => {
    for (let n = 1; ; n++) {
      const name = n === 1 ? wanted : `${wanted}-${n}`;
      if ((await read.entries.current(kind, name)) === undefined) return name;
    }
  };
  const { machine } = recipe.body;
  const runs = (await read.entries.list('build')).filter(({ body }) => body.machine === machine);
  const run = 1 + Math.max(0, ...runs.map(({ body }) => body.run));
  return {
    lot: await free('lot', `L-${key}-${design.revision}`),
    serial: await free('implant', `${key}-${design.revision}`),
    build: await free('build', `${machine}-${run}`),
    run,
    openedAt,
  };
}

function writeFolder(folder: string, files: Readonly<Record<string, string | Buffer>>): void {
  const temporary = `${folder}.${randomUUID()}.part`;
  try {
    for (const [name, content] of Object.entries(files)) {
      const file = path.join(temporary, name);
      fs.mkdirSync(path.dirname(file), { recursive: true });
      fs.writeFileSync(file, content, { flush: true });
    }
    fs.renameSync(temporary, folder);
  } finally {
    fs.rmSync(temporary, { recursive: true, force: true });
  }
}
