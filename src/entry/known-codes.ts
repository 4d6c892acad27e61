import { Injectable } from '@nestjs/common';
import { placesOfAllLots } from '../lots/unit-places.js';
import { KNOWN_CODES } from '../report/phrases/entry-forms.js';
import { Store } from '../store/store.js';
import type { KnownList } from './form-nodes.js';
import { isOpen, rowsOf, type TypedFields } from './typed-fields.js';

/** More than anybody looks through; whoever knows an older code types it. */
const MOST_OFFERED = 150;

interface KnownCode {
  readonly code: string;
  readonly says: string;
}

/** Codes on record that fields of forms may name. */
@Injectable()
export class KnownCodes {
  constructor(private readonly store: Store) {}

  /** The codes of each list, those that came last first. */
  async of(lists: readonly KnownList[], fields: TypedFields) {
    const known: { readonly id: string; readonly codes: readonly KnownCode[] }[] = [];
    for (const { id, kinds, declaredIn } of lists) {
      const codes: KnownCode[] = (declaredIn ?? []).flatMap((place) => declared(place, fields));
      for (const kind of declaredIn === undefined ? kinds : []) {
        for (const { key, name, revision } of await this.store.read.entries.newest(kind, MOST_OFFERED)) {
          codes.push({ code: key, says: KNOWN_CODES.entry(name, revision) });
        }
      }
      known.push({ id, codes });
    }
    return known;
  }

  /** Places of a form at which nothing else can stand than what there is. */
  async offered(kind: string, fields: TypedFields): Promise<Readonly<Record<string, readonly string[]>>> {
    // What was taken away although it was not released is told by its code.
    if (kind !== 'handover' || isOpen(fields, 'unreleased')) return {};
    const parts = await placesOfAllLots(this.store.read);
    const ready = parts.filter((part) => part.kind === 'implant' && part.place === 'in stock' && !part.held);
    return ready.length > MOST_OFFERED ? {} : { implants: ready.map(({ key }) => key) };
  }
}

/** What a form itself says at a place in each row: `implants.serial`. */
function declared(place: string, fields: TypedFields): KnownCode[] {
  const [list, name] = place.split('.') as [string, string];
  return Array.from({ length: rowsOf(fields, list) }, (_, index) => fields[`${list}[${index}].${name}`] ?? '')
    .filter((code) => code !== '')
    .map((code) => ({ code, says: KNOWN_CODES.here }));
}
