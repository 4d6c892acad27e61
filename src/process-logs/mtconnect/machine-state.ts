import type { RejectionCode } from '../../dossier/finding-detail.js';
import type { ScannedChannel } from '../channels.js';
import { DewPointConversion } from '../dew-point.js';
import type { SourceRow } from '../merge/row-source.js';
import { quote, type Rejection } from '../rejection.js';
import { NO_LAYER } from '../row-reader.js';
import { readLayer } from '../row-text.js';
import type { ConditionWatch } from './condition-watch.js';
import { UNAVAILABLE } from './observation.js';
import type { ObservationBatch } from './observation-batch.js';
import { CONDITION, OTHER, RESTART, STEP, ZONE } from './observation-roles.js';

const LONGEST_LAYER = 7;

/** The machine as it stands, observation by observation: each channel, and where it works. */
export class MachineState {
  readonly row: SourceRow;
  private readonly dewPoints: readonly DewPointConversion[];
  /** Every channel, before dew points become shares. */
  private readonly state: Float64Array;

  /** @param fileNames by the number of the file in the batch. @param steps names of steps, by what the machine calls them. */
  constructor(
    private readonly channels: readonly ScannedChannel[],
    private readonly fileNames: readonly string[],
    private readonly batch: ObservationBatch,
    private readonly conditions: ConditionWatch,
    private readonly steps: ReadonlyMap<string, string>,
    private readonly reject: (rejection: Rejection) => void,
  ) {
    this.dewPoints = channels.flatMap(({ dewPoint }, channel) =>
      dewPoint === null ? [] : [new DewPointConversion(channel, dewPoint)],
    );
    this.state = new Float64Array(channels.length).fill(Number.NaN);
    this.row = { timeUs: Number.NaN, layer: NO_LAYER, zone: '', step: '', values: this.state.slice(), line: 0 };
  }

  /** @param at index in the batch. */
  apply(at: number): void {
    const { batch, row } = this;
    const role = batch.role[at]!;
    if (role >= 0) this.takeValue(role, at);
    else if (role === CONDITION) this.conditions.take(batch.conditions.get(at)!, batch.timeUs[at]!);
    else if (role === RESTART) this.forget(at);
    else if (role < OTHER) this.takePlace(role, batch.texts.get(at)!, at);
    else return;
    row.line = batch.line[at]!;
  }

  /** Makes the row what the machine is now. */
  show(): void {
    this.row.values.set(this.state);
    for (const conversion of this.dewPoints) conversion.apply(this.row.values);
  }

  /** Nothing that was told before holds. */
  private forget(at: number): void {
    const { batch, row } = this;
    this.state.fill(Number.NaN);
    Object.assign(row, { zone: '', layer: NO_LAYER, step: '' });
    this.conditions.endAll(batch.timeUs[at]!, batch.line[at]!);
  }

  private takeValue(role: number, at: number): void {
    const { batch } = this;
    this.state[role] = batch.value[at]!;
    const unread = batch.texts.get(at);
    if (unread !== undefined) this.refuse('number', this.channels[role]!.name, unread, at);
  }

  private takePlace(role: number, reported: string, at: number): void {
    const { row } = this;
    const text = reported === UNAVAILABLE ? '' : reported;
    if (role === ZONE) row.zone = text;
    else if (role === STEP) row.step = this.steps.get(text) ?? text;
    else {
      const layer = text === '' ? NO_LAYER : readLayer(text, LONGEST_LAYER);
      if (layer === undefined) this.refuse('layer', 'layer', reported, at);
      row.layer = layer ?? NO_LAYER;
    }
  }

  private refuse(code: RejectionCode, field: string, found: string, at: number): void {
    const { line, file } = this.batch;
    this.reject({ line: line[at]!, code, field, found: quote(found), file: this.fileNames[file[at]!]! });
  }
}
