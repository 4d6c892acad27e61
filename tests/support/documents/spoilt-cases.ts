import { type Spoilt, spoilt } from './spoilt.js';

const row = (depthUm: string, left: string) => ({
  ...{ depthUm, areaMm2: left, sectionModulusMm3: left, secondMomentMm4: left },
});

export const CASE_SPOILT: readonly Spoilt[] = [
  spoilt('case', 'an operation before the implant is there', 'surgeryOn', (document) => {
    document.surgeryOn = '2031-11-30';
  }),
  spoilt('case', 'an operation before its images', 'surgeryOn', (document) => {
    Object.assign(document, { imagingDate: '2032-01-02', surgeryOn: '2032-01-01' });
  }),
  spoilt('case', 'an operation before it was prescribed', 'surgeryOn', (document) => {
    Object.assign(document, { neededBy: '2031-01-18', surgeryOn: '2031-01-19' });
  }),
  spoilt('case', 'cancelled before it was prescribed', 'status.at', (document) => {
    document.status = { is: 'cancelled', by: 'P-QE', at: '2031-01-20T08:59:59Z' };
  }),
  spoilt('family', 'one law twice', 'laws[1].law', (document) => {
    document.laws = [
      { law: 'EU', route: 'custom-made' },
      { law: 'EU', route: 'market' },
    ];
  }),
  spoilt('family', 'a custom-made device in the US that nobody can count', 'laws[0].deviceType', (document) => {
    document.laws = [{ law: 'US', route: 'custom-made' }];
  }),
  spoilt('route-permission', 'an end before its beginning', 'to', (document) => {
    document.to = '2030-12-31';
  }),
  spoilt('route-permission', 'one condition answered twice', 'answers[1].condition', (document) => {
    document.answers.push({ ...document.answers[0], answer: 'not met' });
  }),
  spoilt('route-permission', 'one site twice', 'sites[1]', (document) => {
    document.sites.push(document.sites[0]);
  }),
  spoilt('route-permission', 'no type to count', 'deviceType', (document) => {
    document.law = 'US';
  }),
  spoilt('route-permission', 'no conditions answered', 'answers', (document) => {
    Object.assign(document, { law: 'US', deviceType: 'plate' });
    delete document.answers;
  }),
  spoilt('route-permission', 'no public declaration', 'declaration', (document) => {
    document.route = 'in-house';
  }),
  spoilt('route-permission', 'a body without a number', 'number', (document) => {
    delete document.number;
  }),
  spoilt('route-permission', 'a number without a body', 'body', (document) => {
    delete document.body;
  }),
  spoilt('design-envelope', 'one parameter twice', 'parameters[1].parameter', (document) => {
    document.parameters.push(document.parameters[0]);
  }),
  spoilt('design-envelope', 'ends the wrong way round', 'parameters[0]', (document) => {
    document.parameters[0].min = '100';
  }),
  spoilt('design-envelope', 'one worst case twice', 'parameters[0].worstCases[1]', (document) => {
    document.parameters[0].worstCases.push(document.parameters[0].worstCases[0]);
  }),
  spoilt('design-envelope', 'one site twice', 'sites[1]', (document) => {
    document.sites.push('invented site');
  }),
  spoilt('design-envelope', 'one side twice', 'sides[2]', (document) => {
    document.sides.push('left');
  }),
  spoilt('imaging-set', 'received before it was taken', 'received.at', (document) => {
    document.received.at = '2031-01-14T23:59:59+01:00';
  }),
  spoilt('imaging-set', 'slices without their distance', 'sliceMm', (document) => {
    delete document.sliceMm;
  }),
  spoilt('imaging-set', 'neither the images nor their hash', 'sha256', (document) => {
    delete document.file;
  }),
  spoilt('imaging-set', 'a hash beside the images, which has to be computed', 'file', (document) => {
    document.sha256 = 'ab'.repeat(32);
  }),
  spoilt('case-design', 'one parameter twice', 'parameters[1].parameter', (document) => {
    document.parameters.push(document.parameters[0]);
  }),
  spoilt('case-design', 'one zone twice', 'zones[1].zone', (document) => {
    document.zones[1].zone = 'span';
  }),
  spoilt('case-design', 'one program twice', 'software[1].software', (document) => {
    document.software.push({ software: 'CAD', revision: 2 });
  }),
  spoilt('case-design', 'one imaging set twice', 'imagingSets[1]', (document) => {
    document.imagingSets.push('IM-1');
  }),
  spoilt('case-design', 'a region that is given in two ways', 'zones[0]', (document) => {
    document.zones[0].mesh = 'hole.stl';
  }),
  spoilt('case-design', 'a region that is not given', 'zones[1]', (document) => {
    delete document.zones[1].mesh;
  }),
  spoilt('case-design', 'a box without height', 'zones[0].box.to.z', (document) => {
    document.zones[0].box.to.z = '0.0';
  }),
  spoilt(
    'case-design',
    'a table of a section that begins after a loss',
    'zones[0].section.rows[0].depthUm',
    (document) => {
      document.zones[0].section = { shape: 'table', rows: [row('10', '12'), row('20', '11')] };
    },
  ),
  spoilt('case-design', 'a table of nothing', 'zones[0].section.rows[0].areaMm2', (document) => {
    document.zones[0].section = { shape: 'table', rows: [row('0', '0'), row('20', '0')] };
  }),
  spoilt('case-design', 'rows of a section out of order', 'zones[0].section.rows[2].depthUm', (document) => {
    document.zones[0].section = { shape: 'table', rows: [row('0', '12'), row('20', '11'), row('10', '10')] };
  }),
  spoilt('case-design', 'a section that grows as it is lost', 'zones[0].section.rows[1].areaMm2', (document) => {
    document.zones[0].section = { shape: 'table', rows: [row('0', '12'), row('20', '12.5')] };
  }),
  spoilt('case-design', 'no envelope, and no word why', 'outside', (document) => {
    delete document.envelope;
  }),
  spoilt('case-design', 'approved by its designer', 'approval.by', (document) => {
    document.approval = { by: 'P-OP', at: '2031-02-01T12:00:00+01:00' };
  }),
  spoilt('support-window', 'one zone twice', 'zones[1].zone', (document) => {
    document.zones.push(document.zones[0]);
  }),
  spoilt('support-window', 'gone while it has to hold', 'zones[0].goneByWeeks', (document) => {
    document.zones[0].goneByWeeks = 12;
  }),
];

export const TIMES_SPOILT: readonly Spoilt[] = [
  spoilt('machine', 'due before it was done', 'upkeep[1].due', (document) => {
    document.upkeep[1].due = document.upkeep[1].at;
  }),
  spoilt('instrument', 'due before it was calibrated', 'calibrations[0].due', (document) => {
    document.calibrations[0].due = '2031-01-15T07:00:00Z';
  }),
  spoilt('process-validation', 'an end at its beginning', 'validUntil', (document) => {
    document.validUntil = document.validFrom;
  }),
  spoilt('equivalence-study', 'an end before its beginning', 'validUntil', (document) => {
    document.validUntil = '2031-01-10T23:59:59+01:00';
  }),
];
