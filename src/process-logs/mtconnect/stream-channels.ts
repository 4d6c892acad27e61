import { BadInputError, type Problem } from '../../base/errors.js';
import type { ChannelMap } from '../../kinds/channel-map.js';
import { meansTheSame, type ScannedChannel, settleUnits } from '../channels.js';
import type { PlannedChannel } from '../plan.js';

/**
 * The channels of a stream with their units: those of the channel map, with which the lot file must agree.
 * @throws BadInputError naming each channel that only one of them knows, or whose unit they do not agree on.
 */
export function streamChannels(
  map: ChannelMap,
  planned: readonly PlannedChannel[],
  fileName: string,
): ScannedChannel[] {
  const problems: Problem[] = [];
  const remedy = 'correct the channels of the log in the lot file, or the channel map';
  const units = new Map(map.channels.map(({ channel, ucum }) => [channel, ucum]));
  for (const { name, loggedUcum } of planned) {
    const inMap = units.get(name);
    const problem = { code: 'log-unit', file: fileName, field: name, remedy };
    if (inMap === undefined)
      problems.push({
        ...problem,
        found: `no ${name} in channel map ${map.map} revision ${map.revision}`,
        expected: 'a data item for it',
      });
    else if (loggedUcum !== null && !meansTheSame(loggedUcum, inMap)) {
      const expected = `${inMap}, as channel map ${map.map} revision ${map.revision} says`;
      problems.push({ ...problem, found: `${loggedUcum} in the lot file`, expected });
    }
  }
  if (problems.length > 0) throw new BadInputError(problems);
  const stated = planned.map((channel): PlannedChannel => {
    const { loggedUcum, unitFrom, name } = channel;
    return { ...channel, loggedUcum: loggedUcum ?? units.get(name)!, unitFrom: [...unitFrom, 'channel map'] };
  });
  return settleUnits(stated, null, { file: fileName, line: 1 });
}
