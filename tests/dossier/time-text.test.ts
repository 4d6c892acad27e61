import { timeText } from '../../src/dossier/time-text.js';

it.each([
  ['2031-03-04T09:00:00+01:00', '2031-03-04 08:00 UTC'],
  ['2031-03-04T00:30+02:00', '2031-03-03 22:30 UTC'],
  ['2031-03-04T08:00:07.900Z', '2031-03-04 08:00:07 UTC'],
  ['2031-12-31T20:00:00-05:00', '2032-01-01 01:00 UTC'],
  ['2031-03-04', '2031-03-04'],
  ['2031-02-31T99:00:00Z', '2031-02-31T99:00:00Z'],
  ['at no stated time', 'at no stated time'],
])('says %s in one time zone, with its name: %s', (moment, said) => {
  expect(timeText(moment)).toBe(said);
});
