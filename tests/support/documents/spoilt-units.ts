import { type Spoilt, spoilt } from './spoilt.js';

const EARLY = '2031-01-02T08:00:00+01:00';

export const DEGRADATION_SPOILT: readonly Spoilt[] = [
  spoilt('test-medium', 'one component twice', 'components[1].component', (document) => {
    document.components[1].component = 'NaCl';
  }),
  spoilt('test-medium', 'ends of pH the wrong way round', 'pH', (document) => {
    document.pH.min = '7.5';
  }),
  spoilt('exposure', 'an end before its beginning', 'to', (document) => {
    document.to = '2031-03-05T08:00:00Z';
  }),
  spoilt('exposure', 'values of what has not ended', 'to', (document) => {
    delete document.to;
  }),
  spoilt('exposure', 'a pH above the highest', 'pH.end', (document) => {
    document.pH.end = '7.70';
  }),
  spoilt('exposure', 'a mass after cleaning above that before', 'massG.afterCleaning', (document) => {
    document.massG = { before: '1.9', afterCleaning: '1.95' };
  }),
  spoilt('exposure', 'a mass that cleaning makes larger', 'massG.afterCleaning', (document) => {
    document.massG.after = '1.9';
  }),
  spoilt('exposure', 'a blank that loses more than there was', 'massG.blankLoss', (document) => {
    document.massG.blankLoss = '2';
  }),
  spoilt('exposure', 'a blank that loses more than the specimen', 'massG.blankLoss', (document) => {
    document.massG.blankLoss = '0.0125';
  }),
  spoilt('exposure', 'a mass loss of metal whose density is not told', 'densityGPerCm3', (document) => {
    delete document.densityGPerCm3;
    delete document.uncertainty;
  }),
  spoilt('exposure', 'a loss by cleaning of what was not cleaned', 'massG.afterCleaning', (document) => {
    delete document.massG.afterCleaning;
  }),
  spoilt('exposure', 'a medium that was changed after its end', 'changeH', (document) => {
    document.changeH = '337';
  }),
  spoilt('exposure', 'more gas without a specimen than with it', 'hydrogen.blankMl', (document) => {
    document.hydrogen.blankMl = '6.21';
  }),
  spoilt('exposure', 'metal that has grown', 'volumeMm3.after', (document) => {
    document.volumeMm3.after = '1045.4';
  }),
  spoilt('exposure', 'ends of the control the wrong way round', 'control', (document) => {
    document.control.min = '0.5';
  }),
  spoilt('exposure', 'an uncertainty of masses that are not there', 'massG', (document) => {
    delete document.massG;
  }),
  spoilt('exposure', 'an uncertainty of a density that is not there', 'densityGPerCm3', (document) => {
    delete document.densityGPerCm3;
  }),
  spoilt('exposure', 'values that were checked by whoever typed them', 'checkedBy', (document) => {
    document.checkedBy = 'P-OP';
  }),
  spoilt('exposure', 'values that their analyst typed and checked', 'checkedBy', (document) => {
    document.checkedBy = 'P-AN';
    delete document.enteredBy;
  }),
  spoilt('exposure', 'one instrument twice', 'instruments[1]', (document) => {
    document.instruments.push('I-MIC');
  }),
  spoilt('stock-part', 'two origins', 'implant', (document) => {
    document.implant = 'L-1-I1';
  }),
  spoilt('stock-part', 'no origin', 'receipt', (document) => {
    delete document.receipt;
  }),
  spoilt('stock-part', 'an implant, and not why it is built on', 'why', (document) => {
    delete document.receipt;
    document.implant = 'L-1-I1';
  }),
  spoilt('stock-part', 'made ready in another order', 'interface.prepared[1].at', (document) => {
    document.interface.prepared.push({ by: 'P-OP', at: EARLY });
  }),
  spoilt('stock-part', 'one part taken off twice', 'takenOff[1].implant', (document) => {
    document.takenOff.push(document.takenOff[0]);
  }),
  spoilt('stock-part', 'one property twice', 'lines[1].property', (document) => {
    document.lines.push(document.lines[0]);
  }),
];

export const AFTER_RELEASE_SPOILT: readonly Spoilt[] = [
  spoilt('handover', 'one unit twice', 'implants[2]', (document) => {
    document.implants.push('L-1-I1');
  }),
  spoilt('unit-return', 'one unit twice', 'implants[1]', (document) => {
    document.implants.push('L-1-I2');
  }),
  spoilt('complaint', 'one unit twice', 'implants[1]', (document) => {
    document.implants.push('L-1-I1');
  }),
  spoilt('complaint', 'one law twice', 'evaluated[1].law', (document) => {
    document.evaluated[1].law = 'EU';
  }),
  spoilt('complaint', 'evaluated before it was received', 'evaluated[0].at', (document) => {
    document.evaluated[0].at = EARLY;
  }),
  spoilt('complaint', 'due before its clock started', 'evaluated[0].due', (document) => {
    document.evaluated[0].due = EARLY;
  }),
  spoilt('complaint', 'due later than its law allows', 'evaluated[0].due', (document) => {
    document.evaluated[0].due = '2031-05-25T10:00:01+02:00';
  }),
  spoilt('complaint', 'to be reported at no time', 'evaluated[0].due', (document) => {
    delete document.evaluated[0].due;
  }),
  spoilt('complaint', 'to be reported from no time on', 'evaluated[0].clockStart', (document) => {
    delete document.evaluated[0].clockStart;
  }),
  spoilt('complaint', 'due though it need not be reported', 'evaluated[1].due', (document) => {
    document.evaluated[1].due = '2031-05-25T10:00:00+02:00';
  }),
  spoilt('complaint', 'a clock though it need not be reported', 'evaluated[1].clockStart', (document) => {
    document.evaluated[1].clockStart = '2031-05-25T10:00:00+02:00';
  }),
  spoilt('complaint', 'reported before it was received', 'reports[0].at', (document) => {
    document.reports[0].at = EARLY;
  }),
  spoilt('complaint', 'reported though nobody had to', 'reports[0].law', (document) => {
    document.reports[0].law = 'US';
  }),
  spoilt('disposal', 'nothing at all', 'implants', (document) => {
    for (const name of ['implants', 'coupons', 'powder', 'consumables']) delete document[name];
  }),
  spoilt('disposal', 'one unit twice', 'implants[1]', (document) => {
    document.implants.push('L-1-I2');
  }),
  spoilt('disposal', 'one powder twice', 'powder[1].state', (document) => {
    document.powder.push(document.powder[0]);
  }),
  spoilt('disposal', 'one consumable twice', 'consumables[1]', (document) => {
    document.consumables.push('SBF-31-04');
  }),
  spoilt('disposal', 'seen by whoever did it', 'witness', (document) => {
    document.witness = 'P-OP';
  }),
  spoilt('impact', 'an end before its beginning', 'to', (document) => {
    document.to = EARLY;
  }),
  spoilt('impact', 'one lot twice', 'lots[1]', (document) => {
    document.lots.push('L-1');
  }),
  spoilt('impact', 'one unit decided twice', 'decisions[1].implant', (document) => {
    document.decisions.push({ implant: 'L-1-I1', as: 'hold' });
  }),
  spoilt('impact', 'units of no lot', 'decisions', (document) => {
    delete document.lots;
  }),
  spoilt('impact', 'measured again where nothing was measured', 'results.count', (document) => {
    document.results.count = 0;
    document.decisions[0].as = 'measure again';
  }),
  spoilt('recall', 'a drill that is not called one', 'recall', (document) => {
    document.recall = 'RC-1';
  }),
  spoilt('recall', 'one unit expected twice', 'expected[2]', (document) => {
    document.expected.push('L-1-I1');
  }),
  spoilt('recall', 'one unit in two places', 'found[2].implant', (document) => {
    document.found.push({ ...document.found[0], place: 'in stock' });
  }),
  spoilt('recall', 'found before it started', 'found[0].at', (document) => {
    document.found[0].at = EARLY;
  }),
  spoilt('recall', 'found after it was closed', 'closed', (document) => {
    document.found[0].at = '2031-06-21T09:00:00+02:00';
  }),
  spoilt('recall', 'told before it started', 'notices[0].at', (document) => {
    document.drill = 'no';
    document.notices = [{ to: 'Invented Hospital', at: EARLY }];
  }),
  spoilt('recall', 'a drill of which somebody was told', 'notices', (document) => {
    document.notices = [{ to: 'Invented Hospital', at: document.closed }];
  }),
  spoilt('recall', 'a drill that was reported', 'clocks[0].reported', (document) => {
    document.clocks[0].reported = document.closed;
  }),
  spoilt('recall', 'one law twice', 'clocks[1].law', (document) => {
    document.clocks.push(document.clocks[0]);
  }),
  spoilt('recall', 'due before its clock started', 'clocks[0].due', (document) => {
    document.clocks[0].due = EARLY;
  }),
  spoilt('recall', 'reported before its clock started', 'clocks[0].reported', (document) => {
    document.drill = 'no';
    document.clocks[0].reported = EARLY;
  }),
  spoilt('recall', 'closed before it started', 'closed', (document) => {
    document.closed = EARLY;
  }),
  spoilt('recall', 'closed without a word on what failed', 'lessons', (document) => {
    delete document.lessons;
  }),
  spoilt('recall', 'closed with a unit missing', 'found', (document) => {
    document.found.pop();
  }),
];

export const TREND_SPOILT: readonly Spoilt[] = [
  spoilt('capability-plan', 'one machine twice', 'pools.machines[1]', (document) => {
    document.pools.machines.push('M1');
  }),
  spoilt('capability-plan', 'one revision of a method twice', 'pools.methods[1]', (document) => {
    document.pools.methods.push(document.pools.methods[0]);
  }),
  spoilt('capability-plan', 'one rule twice', 'runRules[2]', (document) => {
    document.runRules.push('nineOneSide');
  }),
  spoilt('capability-plan', 'a rule that no chart knows', 'runRules[1]', (document) => {
    document.runRules[1] = 'nineOnOneSide';
  }),
  spoilt('capability-plan', 'a baseline that ends before it begins', 'baseline.to', (document) => {
    document.baseline.to = '2030-12-31';
  }),
  spoilt('capability-plan', 'a pool by an exposure that is no duration', 'pools.exposure', (document) => {
    document.pools.exposure = 'a fortnight';
  }),
  spoilt('capability-plan', 'a distribution that nobody can fit', 'distribution.name', (document) => {
    document.distribution.name = 'normall';
  }),
  spoilt('capability-plan', 'a bound that more often fails than holds', 'confidence', (document) => {
    document.confidence = '0.05';
  }),
  spoilt('capability-plan', 'a spread of the measurement that no study found', 'gaugeStudy', (document) => {
    document.gaugeStudy = undefined;
    document.gaugeSd = '0.4';
  }),
  spoilt('signal-outcome', 'one point twice', 'points[1]', (document) => {
    document.points.push('M1-101');
  }),
  spoilt('signal-outcome', 'one lot twice', 'lots[1]', (document) => {
    document.lots.push('L-1');
  }),
];
