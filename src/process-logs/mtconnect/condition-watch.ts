import type { FindingDetail } from '../../dossier/finding-detail.js';
import type { ChannelMap } from '../../kinds/channel-map.js';
import { type FindingDraft, placeFinding } from '../findings.js';
import type { Level } from '../levels.js';
import { Places } from '../places.js';
import type { Observation } from './observation.js';

type MappedCondition = NonNullable<ChannelMap['conditions']>[number];

interface OpenCondition {
  readonly nativeCode: string;
  readonly startUs: number;
  readonly line: number;
  readonly level: Level;
  readonly what: FindingDetail;
  readonly places: Places;
}

/** So much is kept of each text of the machine: 200 characters, none of them by half. */
const SHORT = /^.{0,200}/su;

/**
 * Follows the conditions of a machine. A condition holds until the machine says otherwise: *Normal* without a code ends
 * all of a data item, with a code those of that code (ANSI/MTC1.4, Part 3, condition). Two activations that share a code
 * are told apart by their conditionId, from version 2.3. *Unavailable* is noted, since nobody knows.
 */
export class ConditionWatch {
  /** By data item, and then by activation: its conditionId, else the machine's own code. */
  private readonly open = new Map<string, Map<string, OpenCondition>>();

  constructor(
    private readonly mapped: ReadonlyMap<string, MappedCondition>,
    private readonly found: (draft: FindingDraft) => void,
  ) {}

  /** @param timeUs true time. */
  take({ dataItem, element, condition, value, line }: Observation, timeUs: number): void {
    const { type, nativeCode, conditionId } = condition!;
    const activation = conditionId || nativeCode;
    const rule = this.mapped.get(dataItem);
    if (rule === undefined) return;
    const open = this.open.get(dataItem) ?? new Map<string, OpenCondition>();
    this.open.set(dataItem, open);
    const endsAll = element === 'Unavailable' || (element === 'Normal' && activation === '');
    for (const [key, { nativeCode: code }] of [...open]) {
      const isOfCode = element === 'Normal' && conditionId === '' && code === nativeCode;
      if (endsAll || key === activation || isOfCode) this.close(open, key, timeUs, line);
    }
    if (element !== 'Unavailable' && open.has('')) this.close(open, '', timeUs, line);
    const level = levelOf(element, rule);
    if (level === undefined) return;
    const short = (text: string) => SHORT.exec(text)![0];
    const texts = { type: short(type), nativeCode: short(nativeCode), message: short(value) };
    const what = { code: 'condition', dataItem, state: element, ...texts } as const;
    open.set(activation, { nativeCode, startUs: timeUs, line, level, what, places: new Places() });
  }

  /** Notes where the machine works while conditions hold. */
  at(zone: string | null, layer: number | null, step: string): void {
    for (const open of this.open.values()) {
      for (const condition of open.values()) condition.places.add(zone, layer, step);
    }
  }

  /** Ends what still holds, at the end of the stream, or where the agent was started again and knows nothing of it. */
  endAll(timeUs: number, line: number): void {
    for (const open of this.open.values()) {
      for (const code of [...open.keys()]) this.close(open, code, timeUs, line);
    }
  }

  private close(open: Map<string, OpenCondition>, code: string, endUs: number, line: number): void {
    const condition = open.get(code);
    if (condition === undefined) return;
    open.delete(code);
    const { startUs, level, what, places } = condition;
    if (places.list().length === 0) places.add(null, null);
    const times = { startUs, endUs, durationUs: endUs - startUs, lineFrom: condition.line, lineTo: line };
    this.found(placeFinding('machine condition', level, places, { ...times, what }));
  }
}

function levelOf(element: string, rule: MappedCondition): Level | undefined {
  if (element === 'Unavailable') return 'alert';
  const level = element === 'Fault' ? rule.fault : element === 'Warning' ? rule.warning : 'ignored';
  return level === 'ignored' ? undefined : level;
}
