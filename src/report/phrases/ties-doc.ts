import { withTable } from '../../base/written-table.js';
import { type Direction, isEnding, TIES, type TieName } from '../../kinds/ties.js';
import { tieText } from './ties.js';

const NAMES = Object.keys(TIES) as TieName[];

/** The document on traces with its table of ties made anew, by what they say. @throws Error when the marks are not there. */
export function withTieTable(text: string): string {
  const senses = [...new Set(NAMES.map((name) => TIES[name].sense))];
  const rows = senses.flatMap((sense) =>
    NAMES.filter((name) => TIES[name].sense === sense).map((name) => [
      ...[sense, name, tieText(name) === name ? '' : tieText(name)],
      ...[walkText(name, 'back'), walkText(name, 'forward')],
    ]),
  );
  const heads = ['sense', 'tie', 'shown as', 'back', 'forward'];
  return withTable(text, { file: 'docs/trace.md', mark: 'ties', rows: [heads, ...rows] });
}

/** Over which end a walk comes in a direction, and whether it goes on from there. */
function walkText(name: TieName, direction: Direction): string {
  const way = TIES[name].leads === direction ? 'to what is named' : 'to what names it';
  return isEnding(name, direction) ? `${way}, no further` : way;
}
