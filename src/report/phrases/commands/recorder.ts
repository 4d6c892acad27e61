/** What happened to a recording, as its recorder tells it. */
export type RecorderTold =
  | { readonly what: 'began'; readonly instance: string; readonly sequence: number }
  | { readonly what: 'goes on'; readonly instance: string; readonly sequence: number }
  | { readonly what: 'lost'; readonly lost: Lost }
  | { readonly what: 'waits'; readonly why: string };

type Lost =
  | { readonly why: 'no longer held'; readonly fromSequence: number; readonly toSequence: number }
  | { readonly why: 'agent restarted'; readonly instance: string; readonly before: string };

/** What the recorder of a machine prints around the facts. */
export const RECORDER_LINES = {
  records: (agent: string, out: string) => `Records ${agent} to ${out}.*.xml.gz  (Ctrl+C ends it)`,
  told: (told: RecorderTold) => {
    switch (told.what) {
      case 'began':
        return `Begins with observation ${told.sequence} of the agent's instance ${told.instance}.`;
      case 'goes on':
        return `Goes on with observation ${told.sequence} of the agent's instance ${told.instance}.`;
      case 'lost':
        return lostText(told.lost);
      case 'waits':
        return `Waits: ${told.why}`;
    }
  },
  ended: (files: number, observations: number) =>
    `Ended: ${observations} observations in ${files} ${files === 1 ? 'file' : 'files'}.`,
};

function lostText(lost: Lost): string {
  if (lost.why === 'agent restarted') {
    return `Lost: the agent began anew (instance ${lost.instance} after ${lost.before}); what it had not given before is gone.`;
  }
  const { fromSequence: from, toSequence: to } = lost;
  return `Lost: the agent no longer holds the observations ${from} to ${to}.`;
}

/** What stands in a proposed channel map beside its fields. */
export const MAP_WORDS = {
  title: (device: string) => `Proposed from the device ${device}`,
  head: ' A proposal from what the agent declares. Keep the channels that the recipe sets or watches, and look at each unit.',
  version: (said: string, readBy: string) =>
    ` The header names version ${JSON.stringify(said)}; read by version ${readBy}, as the namespace says. Look at units and types twice.`,
  leftOut: {
    set: (item: string) => ` Left out: ${item} is a set or a table; name the key of an entry to make it a channel.`,
    'unit missing': (item: string) => ` Left out: ${item} has no unit.`,
    'unit unknown': (item: string, units: string) =>
      ` Left out: ${item} is in ${units}, which the standard does not know.`,
    'several numbers': (item: string, units: string) => ` Left out: ${item} is three numbers in one (${units}).`,
  },
  place: ' Which of these say layer, zone and step?',
  event: (id: string, type: string, name: string) => `   ${id}: ${type}${name === '' ? '' : `, ${name}`}`,
  conditions: ' The level of a warning and of a fault is yours to set: alert, action, reject or ignored.',
};
