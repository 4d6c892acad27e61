import { type Carried, compare, converted, day, digest, grouped, type Json, moment, unique } from './carried.js';
import type { Asked } from './checks.js';
import { loadOf, stepsOf } from './checks-of-loads.js';
import { madeIn } from './closures.js';
import { approvalOf, BLOCKS, C, D, FAILS, type Found, found, unapproved, usesOf } from './words.js';

/** What was built for a case from one iteration of its design, as the paragraph of case-open says. */
interface Built {
  readonly file: Json;
  readonly case: Json;
  readonly iteration: number;
  readonly implants: readonly Json[];
  readonly units: readonly string[];
  readonly built: string;
  readonly design: Json;
  readonly laws: readonly Json[];
}

const ofKind = ({ pinned }: Json, kind: string): Json[] => pinned.filter((item: Json) => item.kind === kind);
const caseIn = (file: Json): Json => ofKind(file, 'case').find(({ key }) => key === file.case).body;
const familyOf = (carried: Carried): Json => carried.allPinned('family')[0].body;

function lawsOf(carried: Carried, { usedUnder }: Json): Json[] {
  const { laws, route } = familyOf(carried);
  if (laws === undefined) return usedUnder === undefined ? [] : [{ law: usedUnder, route }];
  return usedUnder === undefined ? laws : laws.filter(({ law }: Json) => law === usedUnder);
}

function builtDesigns(carried: Carried): Built[] {
  return carried.cases.flatMap((file) => {
    const body = caseIn(file);
    const own = carried.implants.filter((implant) => implant.case === file.case);
    return unique(own.map(({ designIteration }) => Number(designIteration))).map((iteration) => {
      const implants = own.filter(({ designIteration }) => Number(designIteration) === iteration);
      const units = implants.map(({ serial }) => serial);
      const builds = carried.builds.filter(({ build }) =>
        madeIn(carried, build).some(({ code }) => units.includes(code)),
      );
      return {
        ...{ file, case: body, iteration, implants, units, laws: lawsOf(carried, body) },
        built: builds.map(({ closedAt }) => closedAt).sort((a, b) => moment(a) - moment(b))[0],
        design: ofKind(file, 'case-design').find(({ revision }) => revision === iteration),
      };
    });
  });
}

const asked = (carried: Carried): Built[] =>
  builtDesigns(carried).filter(
    ({ laws, file }) => laws.some(({ route }) => route !== 'market') || ofKind(file, 'case-design').length > 0,
  );
const designed = (carried: Carried): Built[] => builtDesigns(carried).filter(({ design }) => design !== undefined);

/** The table as the paragraph of route-needs prints it in the note. */
function needsOf(carried: Carried, { law, route }: Json): string[] | undefined {
  const note = carried.text('how-to-recompute.txt').replace(/\s+/g, ' ');
  const [, table = ''] = /what is asked: (.*?)\. Under any other law: permission\./.exec(note) ?? [];
  const rows = table.split('; ').map((row) => row.split(': ') as [string, string]);
  if (!rows.some(([of]) => of.startsWith(`${law} `))) return ['permission'];
  return rows.find(([of]) => of === `${law} ${route}`)?.[1].split(', ');
}

const asks = (carried: Carried, laws: readonly Json[], need: string): boolean =>
  laws.some((law) => needsOf(carried, law)?.includes(need));

function envelopeOf(carried: Carried, { file, design }: Built): Json {
  const { envelope } = design?.body ?? {};
  const is = ({ kind, key, revision }: Json) =>
    kind === 'design-envelope' && key === envelope?.envelope && revision === Number(envelope?.revision);
  return [...file.pinned, ...carried.dossier.pinned].find(is);
}

function insideEnvelope(carried: Carried, one: Built): Found[] {
  const { design, units, built, laws } = one;
  if (design === undefined) return [found('no design', units)];
  const approved = (document: Json) =>
    unapproved(
      approvalOf(carried, document.digest, document.body.approval),
      { before: built, rule: 'approved after the build', units },
      {},
      { ...BLOCKS, ...D },
    );
  const { outside, parameters, anatomicalSite, side } = design.body;
  const isBound = laws.length === 0 ? familyOf(carried).route === 'patient-matched' : asks(carried, laws, 'envelope');
  if (outside !== undefined) return [...approved(design), ...(isBound ? [found('outside on this route', units)] : [])];
  const envelope = envelopeOf(carried, one);
  if (envelope === undefined) return [...approved(design), found('no envelope', units)];
  const { body } = envelope;
  return [
    ...approved(design),
    ...approved(envelope),
    ...(moment(body.effectiveFrom) > moment(built) ? [found('envelope not yet effective', units, C)] : []),
    ...parameters.flatMap(({ parameter, value, ucum }: Json): Found[] => {
      const range = body.parameters.find((item: Json) => item.parameter === parameter);
      if (range === undefined) return [found('parameter not covered', units)];
      const same = converted(value, ucum, range.ucum);
      if (same === undefined) return [found('units do not compare', units)];
      const isInside = compare(same, range.min) >= 0 && compare(same, range.max) <= 0;
      return isInside ? [] : [found('outside the envelope', units, FAILS)];
    }),
    ...body.parameters
      .filter((item: Json) => !parameters.some(({ parameter }: Json) => parameter === item.parameter))
      .map(() => found('parameter not stated', units)),
    ...(body.sites.includes(anatomicalSite) ? [] : [found('site not covered', units)]),
    ...(body.sides.includes(side) ? [] : [found('side not covered', units)]),
  ];
}

function accepted(carried: Carried, { file, iteration, units, built, design, case: prescribed }: Built): Found[] {
  const acceptance = ofKind(file, 'design-acceptance').find(({ body }) => Number(body.iteration) === iteration);
  if (acceptance === undefined) return [found('not accepted', units)];
  const { at, model, by, original, enteredBy } = acceptance.body;
  const uses = (use: string) => file.evidence.filter((item: Json) => item.use.startsWith(use));
  const own = uses(`model of case-design ${file.case} rev ${iteration}`);
  const models = own.length > 0 ? own : uses(`model of case-design ${file.case} `);
  const { name, institution } = prescribed.prescriber;
  const isChecked = carried.signed(acceptance.digest, 'checked').some(({ person }) => person.code !== enteredBy);
  return [
    ...(moment(at) > moment(built) ? [found('accepted after the build', units, BLOCKS)] : []),
    ...(design === undefined || models.some(({ sha256 }: Json) => sha256 === model)
      ? []
      : [found('another model accepted', units, FAILS)]),
    ...(by.name === name && by.institution === institution ? [] : [found('accepted by somebody else', units)]),
    ...(original === undefined ? [found('no original', units)] : []),
    ...(isChecked ? [] : [found('not checked', units)]),
  ];
}

function sides({ units, design, case: prescribed }: Built): Found[] {
  const { anatomicalSite, side, marking } = design.body;
  const named = marking
    .toLowerCase()
    .split(/[^a-z0-9-]+/)
    .flatMap((word: string) =>
      ['l', 'left'].includes(word) ? ['left'] : ['r', 'right'].includes(word) ? ['right'] : [],
    );
  const fail = (rule: string) => found(rule, units, FAILS);
  return [
    ...(prescribed.anatomicalSite === anatomicalSite ? [] : [fail('another site')]),
    ...(prescribed.side === side ? [] : [fail('another side')]),
    ...(named.some((one: string) => one !== side) ? [fail('another side marked')] : []),
    ...(['left', 'right'].includes(side) && named.length === 0 ? [fail('side not marked')] : []),
  ];
}

const FIELDS: Readonly<Record<string, readonly string[]>> = {
  'body-certificate': ['body', 'number'],
  'study-approval': ['body', 'number'],
  permission: ['number'],
  conditions: ['answers'],
  'card-decision': ['cardDecision'],
  declaration: ['declaration'],
};

function forLaw(carried: Carried, law: Json, units: readonly string[]): Found[] {
  const needs = needsOf(carried, law);
  const { udiDi, manufacturer } = familyOf(carried);
  if (needs === undefined) return [found('no such route', units)];
  const identified = needs.includes('udi') && udiDi === undefined ? [found('no device identifier', units)] : [];
  if (!needs.some((need) => FIELDS[need] !== undefined)) return identified;
  const permissions = carried
    .allPinned('route-permission')
    .filter(({ body }) => body.law === law.law && body.route === law.route)
    .filter(({ body }) => law.deviceType === undefined || body.deviceType === law.deviceType);
  if (permissions.length === 0) return [...identified, found('no permission', units)];
  const each = permissions.map((item): Found[] => {
    const { body } = item;
    const approval = approvalOf(carried, item.digest, body.approval);
    if (approval.how !== 'approved') return [found(approval.how, units)];
    return [
      ...needs
        .filter((need) => FIELDS[need]?.some((field) => body[field] === undefined))
        .map(() => found('not answered', units)),
      ...(body.answers ?? [])
        .filter(({ answer }: Json) => answer === 'not met')
        .map(() => found('condition not met', units)),
      ...(body.sites === undefined ? [] : (manufacturer?.sites ?? []))
        .filter((site: string) => !body.sites.includes(site))
        .map(() => found('place of manufacture not covered', units)),
    ];
  });
  return [...identified, ...each.reduce((best, next) => (next.length < best.length ? next : best))];
}

const unitsOf = (carried: Carried, codes: readonly string[]): string[] =>
  carried.implants.filter((one) => codes.includes(one.case)).map(({ serial }) => serial);

const plain = (text = ''): string => text.trim().toLowerCase().replace(/\s+/g, ' ');

/** One code that was read: elements in brackets, as the lots of the tests have them, or the serial itself. */
function elements(code: string): Record<string, string> | undefined {
  if (!code.startsWith('(')) return { '21': code };
  const all = [...code.matchAll(/\((\d{2})\)([^(]+)/g)].map(([, ai, content]) => [ai!, content!] as const);
  return unique(all.map(([ai]) => ai)).length === all.length ? Object.fromEntries(all) : undefined;
}

/** (17) of a code as a calendar day. */
const dayOf = (digits: string | undefined): string | undefined =>
  digits === undefined ? undefined : `20${digits.slice(0, 2)}-${digits.slice(2, 4)}-${digits.slice(4)}`;

/** The last day of an implant that was packed. */
function expiryOf(carried: Carried, { serial, case: code, designIteration }: Json): string | undefined {
  const packed = stepsOf(carried, serial, 'pack').at(-1);
  if (packed === undefined) return undefined;
  const later = (from: string, days: unknown) =>
    new Date(moment(from) + Number(days) * 86_400_000).toISOString().slice(0, 10);
  const { shelfLifeDays } = carried.specification.body;
  const barriers = ['pack', 'sterilise'].map((step) => {
    const last = stepsOf(carried, serial, step).at(-1);
    return last && loadOf(carried, last, serial)?.expiry;
  });
  const built = builtDesigns(carried).find(
    ({ file, iteration }) => file.case === code && iteration === Number(designIteration),
  );
  const days = built && envelopeOf(carried, built)?.body.imageAgeDays;
  const images = built === undefined || days === undefined ? [] : ofKind(built.file, 'imaging-set');
  return [
    ...(shelfLifeDays === undefined ? [] : [later(day(packed.at), shelfLifeDays)]),
    ...barriers.filter((one) => one !== undefined),
    ...images
      .filter(({ key }) => built!.design?.body.imagingSets.includes(key))
      .map(({ body }) => later(body.takenOn, days)),
  ].sort()[0];
}

export const CHECKS_OF_CASES: Readonly<Record<string, Asked>> = {
  'case-open': (carried) => ({
    found: builtDesigns(carried)
      .filter(({ case: { status } }) => status?.is === 'cancelled')
      .map(({ case: { status }, built, units }) =>
        found(moment(built) > moment(status.at) ? 'built although cancelled' : 'cancelled', units, BLOCKS),
      ),
  }),

  'design-still-current': (carried) => ({
    found: builtDesigns(carried).flatMap(({ case: { designIteration }, file, iteration, units }) => {
      if (Number(designIteration) !== iteration) return [found('another iteration asked for', units, BLOCKS)];
      const isPassed = ofKind(file, 'case-design').some(({ revision }) => revision > iteration);
      return isPassed ? [found('a later iteration', units, BLOCKS)] : [];
    }),
  }),

  'design-inside-envelope': (carried) => ({
    found: asked(carried).flatMap((one) => insideEnvelope(carried, one)),
    applies: asked(carried).length > 0,
  }),

  'image-age': (carried) => {
    const limited = designed(carried).flatMap((one) => {
      const envelope = envelopeOf(carried, one);
      return envelope === undefined ? [] : [{ ...one, days: Number(envelope.body.imageAgeDays) }];
    });
    const age = (takenOn: string, built: string) => Math.round((moment(day(built)) - moment(takenOn)) / 86_400_000);
    return {
      found: limited.flatMap(({ file, design, built, days, units }) =>
        ofKind(file, 'imaging-set')
          .filter(({ key }) => design.body.imagingSets.includes(key))
          .filter(({ body }) => age(body.takenOn, built) > days)
          .map(() => found('images too old', units, C)),
      ),
      applies: limited.length > 0,
    };
  },

  'design-accepted': (carried) => ({
    found: asked(carried).flatMap((one) => accepted(carried, one)),
    applies: asked(carried).length > 0,
  }),

  'side-agrees': (carried) => ({ found: designed(carried).flatMap(sides), applies: designed(carried).length > 0 }),

  'recipe-as-designed': (carried) => ({
    found: designed(carried).flatMap(({ implants, design }) => {
      const { recipe, revision } = design.body.recipe;
      const is = (one: Json) => one?.recipe === recipe && Number(one.revision) === Number(revision);
      const others = implants.filter(
        (one) => ![one.recipe, ...(one.alsoIn ?? []).map((to: Json) => to.recipe)].some(is),
      );
      const units = others.map(({ serial }) => serial);
      return units.length > 0 ? [found('built by another recipe', units, C)] : [];
    }),
    applies: designed(carried).length > 0,
  }),

  'software-as-validated': (carried) => {
    const uses = usesOf(carried);
    const named = [
      ...designed(carried).map(({ design, units, built }) => ({ list: design.body.software, units, at: built })),
      ...uses.map(({ recipe, build, units }) => ({ list: recipe.body.software ?? [], units, at: build.closedAt })),
    ].flatMap(({ list, units, at }) =>
      list.map(({ software, revision }: Json) => ({ name: `${software} ${revision}`, units, at })),
    );
    const documentOf = (name: string) =>
      carried.documents.find(({ kind, key, revision }) => kind === 'software' && `${key} ${revision}` === name);
    const listed = ({ build }: Json): Json[] => build.software ?? [];
    return {
      found: [
        ...[...grouped(named, ({ name }) => name)].flatMap(([name, all]) => {
          const units = unique(all.flatMap((one) => one.units));
          const before = all.map(({ at }) => at).sort((a, b) => moment(a) - moment(b))[0]!;
          const document = documentOf(name);
          if (document === undefined) return [found('not on record', units, { isWant: true })];
          const { approval, validatedBy } = document.body;
          return [
            ...unapproved(approvalOf(carried, document.digest, approval), {
              ...{ before, rule: 'approved after the build', units },
            }),
            ...(validatedBy.on > day(before) ? [found('validated after the build', units, C)] : []),
          ];
        }),
        ...uses.flatMap((use) => {
          const planned: Json[] = use.recipe.body.software ?? [];
          return [
            ...planned.flatMap(({ software, revision }) => {
              const ran = listed(use).filter((one) => one.software === software);
              if (ran.length === 0) return [found('version not stated', use.units, { ...C, isWant: true })];
              const document = documentOf(`${software} ${revision}`);
              if (document === undefined) return [];
              return unique(ran.map(({ version }) => version))
                .filter((version) => version !== document.body.version)
                .map(() => found('another version', use.units, C));
            }),
            ...unique(listed(use).map(({ software }) => software))
              .filter((software) => planned.every((one) => one.software !== software))
              .map(() => found('not named by the recipe', use.units, C)),
          ];
        }),
      ],
      applies: named.length > 0,
    };
  },

  'route-needs': (carried) => {
    const cases = carried.cases.map((file) => ({ file, body: caseIn(file), laws: lawsOf(carried, caseIn(file)) }));
    const laws = unique(cases.flatMap((one) => one.laws.map((law) => JSON.stringify(law))));
    return {
      found: [
        ...cases
          .filter((one) => one.body.usedUnder !== undefined && one.laws.length === 0)
          .map(({ file }) => found('no route under this law', unitsOf(carried, [file.case]))),
        ...laws.flatMap((text) => {
          const codes = cases.filter((one) => one.laws.some((law) => JSON.stringify(law) === text));
          const units = unitsOf(
            carried,
            codes.map(({ file }) => file.case),
          );
          return forLaw(carried, JSON.parse(text), units);
        }),
        ...cases
          .filter((one) => asks(carried, one.laws, 'one-legal-entity'))
          .filter(({ body }) => plain(body.prescriber.institution) !== plain(familyOf(carried).manufacturer?.name))
          .map(({ file }) => found('another legal entity', unitsOf(carried, [file.case]))),
      ],
      applies: laws.length > 0,
    };
  },

  'codes-read': (carried) => {
    const { labels, lot } = carried.lot;
    const { udiDi } = familyOf(carried);
    if (labels?.read === undefined) {
      const isAsked = carried.cases.some((file) => asks(carried, lawsOf(carried, caseIn(file)), 'udi'));
      if (!isAsked || labels === undefined) return { found: [], applies: false };
      return { found: [found('none read', carried.serials, { ...BLOCKS, isWant: true })] };
    }
    const seen = new Set<string>();
    const isFewer = labels.read.length < (labels.inspected?.sample ?? 0);
    return {
      found: [
        ...(isFewer ? [found('fewer read than inspected', carried.serials, { ...BLOCKS, isWant: true })] : []),
        ...labels.read.flatMap((code: string): Found[] => {
          const one = elements(code);
          if (one === undefined) return [found('not readable', carried.serials, BLOCKS)];
          const serial = one['21'] ?? '';
          if (!carried.serials.includes(serial)) return [found('no implant of the lot', carried.serials, BLOCKS)];
          const told = (rule: string) => [found(rule, [serial], BLOCKS)];
          if (one['10'] !== undefined && one['10'] !== lot) return told('another lot');
          if (one['01'] !== undefined && one['01'] !== udiDi) return told('another device');
          if (one['01'] === undefined && udiDi !== undefined) return told('no device identifier');
          const implant = carried.implants.find((item) => item.serial === serial);
          if (one['01'] !== undefined && dayOf(one['17']) !== expiryOf(carried, implant)) return told('another expiry');
          if (seen.has(serial)) return told('read twice');
          seen.add(serial);
          return [];
        }),
      ],
    };
  },

  'expiry-after-surgery': (carried) => {
    const packed = carried.implants.filter(({ serial }) => stepsOf(carried, serial, 'pack').length > 0);
    return {
      found: packed.flatMap((implant): Found[] => {
        const { serial, case: code } = implant;
        const expiry = expiryOf(carried, implant);
        if (expiry === undefined) return familyOf(carried).sterile === 'sterile' ? [found('no expiry', [serial])] : [];
        const file = carried.cases.find((one) => one.case === code);
        if (file === undefined) return [];
        const { surgeryOn, neededBy } = caseIn(file);
        return expiry > (surgeryOn ?? neededBy) ? [] : [found('expires before it is used', [serial], FAILS)];
      }),
      applies: packed.length > 0,
    };
  },

  'statement-signed': (carried) => {
    const { manufacturer, conformity, model, title, alloy } = familyOf(carried);
    const stating = carried.implants.flatMap((implant) => {
      const file = carried.cases.find((one) => one.case === implant.case);
      const body = file && caseIn(file);
      return body && asks(carried, lawsOf(carried, body), 'statement') ? [{ implant, body }] : [];
    });
    return {
      found: stating.flatMap(({ implant: { serial, case: patient, designIteration: iteration }, body }) => {
        const { prescriber, prescription, prescribedCharacteristics, anatomicalSite, side } = body;
        if (!manufacturer?.sites?.length || !conformity || !prescribedCharacteristics) {
          return [found('not complete', [serial])];
        }
        const device = { name: model ?? title, alloy, serial, lot: carried.lot.lot, iteration };
        const said = { prescriber, prescription, prescribedCharacteristics, anatomicalSite, side };
        const covered = digest({ manufacturer, conformity, device, patient, ...said });
        return carried.signed(covered, 'approved').length > 0 ? [] : [found('not signed', [serial])];
      }),
      applies: stating.length > 0,
    };
  },
};
