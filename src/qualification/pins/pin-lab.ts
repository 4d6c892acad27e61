import { FICTION } from '../names.js';
import { element, type Xml, xmlDocument } from '../xml.js';
import { signedByLaboratory } from './lab-signer.js';

/** What laboratories send of the pins in open formats: dimensions as QIF, calibrations as DCC. */

export interface Dimension {
  readonly serial: string;
  readonly valueMm: string;
  readonly standardUncertaintyMm: string;
  readonly at: string;
}

const QIF = 'http://qifstandards.org/xsd/qif3';
/** Names this document for ever; invented. */
const DOCUMENT = 'd1a3b5c7-0301-4d11-9a11-202611110930';
/** Identifiers of QIF are numbers, each once in a document. */
const IDS = { device: 1, definition: 2, nominal: 3, item: 4, standard: 5, first: 10 } as const;

/** Name of the characteristic in the plan of the coordinate measuring machine. */
export const QIF_THICKNESS = 'THICKNESS';

/** Thickness of parts as results by QIF 3.0 (ISO 23952:2020), one measurement result for each part. All lie within the limits. */
export function dimensionsAsQif(
  device: string,
  limits: { readonly lower: string; readonly upper: string },
  dimensions: readonly Dimension[],
): string {
  const idOf = (index: number, place: number) => String(IDS.first + 3 * index + place);
  const ids = (name: string, id: string) => element(name, [element('Id', id)], { n: '1' });
  const count = { n: String(dimensions.length) };
  const results = dimensions.map(({ valueMm, standardUncertaintyMm, at }, index) =>
    element(
      'MeasurementResults',
      [
        element('MeasuredCharacteristics', [
          element(
            'CharacteristicMeasurements',
            [
              element(
                'ThicknessCharacteristicMeasurement',
                [
                  element('Status', [element('CharacteristicStatusEnum', 'PASS')]),
                  element('CharacteristicItemId', String(IDS.item)),
                  element('TimeStamp', at),
                  ids('MeasurementDeviceIds', String(IDS.device)),
                  element('Value', valueMm, { combinedUncertainty: standardUncertaintyMm }),
                ],
                { id: idOf(index, 2) },
              ),
            ],
            { n: '1' },
          ),
        ]),
        element('InspectionStatus', [element('InspectionStatusEnum', 'PASS')]),
        ids('ActualComponentIds', idOf(index, 0)),
      ],
      { id: idOf(index, 1) },
    ),
  );
  const components = dimensions.map(({ serial }, index) =>
    element(
      'ActualComponent',
      [element('SerialNumber', serial), element('Status', [element('InspectionStatusEnum', 'PASS')])],
      { id: idOf(index, 0) },
    ),
  );
  const root = element(
    'QIFDocument',
    [
      element('QPId', DOCUMENT),
      element('Header', [element('Description', `Thickness of pins, ${FICTION}`)]),
      element(
        'StandardsDefinitions',
        [
          element(
            'Standard',
            [
              element('Organization', [element('StandardsOrganizationEnum', 'ISO')]),
              element('Designator', '8015'),
              element('Year', '2011'),
            ],
            { id: String(IDS.standard) },
          ),
        ],
        { n: '1' },
      ),
      element('FileUnits', [
        element('PrimaryUnits', [
          element('LinearUnit', [
            element('SIUnitName', 'meter'),
            element('UnitName', 'mm'),
            element('UnitConversion', [element('Factor', '0.001')]),
          ]),
        ]),
      ]),
      element('MeasurementResources', [
        element(
          'MeasurementDevices',
          [element('MeasurementDevice', [element('Name', device)], { id: String(IDS.device) })],
          {
            n: '1',
          },
        ),
      ]),
      element('Characteristics', [
        element('FormalStandardId', String(IDS.standard)),
        element(
          'CharacteristicDefinitions',
          [
            element(
              'ThicknessCharacteristicDefinition',
              [
                element('Tolerance', [
                  element('MaxValue', limits.upper),
                  element('MinValue', limits.lower),
                  element('DefinedAsLimit', 'true'),
                ]),
              ],
              { id: String(IDS.definition) },
            ),
          ],
          { n: '1' },
        ),
        element(
          'CharacteristicNominals',
          [
            element('ThicknessCharacteristicNominal', [element('CharacteristicDefinitionId', String(IDS.definition))], {
              id: String(IDS.nominal),
            }),
          ],
          { n: '1' },
        ),
        element(
          'CharacteristicItems',
          [
            element(
              'ThicknessCharacteristicItem',
              [
                element('Name', QIF_THICKNESS),
                ids('MeasurementDeviceIds', String(IDS.device)),
                element('CharacteristicNominalId', String(IDS.nominal)),
              ],
              { id: String(IDS.item) },
            ),
          ],
          { n: '1' },
        ),
      ]),
      element('Results', [
        element('MeasurementResultsSet', results, count),
        element('ActualComponentSets', [element('ActualComponentSet', components, count)], { n: '1' }),
      ]),
    ],
    { xmlns: QIF, versionQIF: '3.0.0', idMax: String(IDS.first + 3 * dimensions.length) },
  );
  return xmlDocument(root);
}

/** A calibration by comparison: what the reference was, and what the instrument showed. */
export interface Calibrated {
  readonly certificate: string;
  readonly instrument: string;
  readonly title: string;
  readonly serialNumber: string;
  readonly day: string;
  readonly recalibrateBy: string;
  readonly quantity: string;
  /** As D-SI writes it. */
  readonly unit: string;
  readonly points: readonly { readonly reference: string; readonly shown: string }[];
  /** Of each error of indication, in the same unit, with a coverage factor of 2. */
  readonly expandedUncertainty: string;
}

const DCC = { 'xmlns:dcc': 'https://ptb.de/dcc', 'xmlns:si': 'https://ptb.de/si', schemaVersion: '3.2.1' };
export const LABORATORY = 'Eichwald calibration laboratory (fictional)';

const named = (text: string): Xml => element('dcc:name', [element('dcc:content', text, { lang: 'en' })]);
const declared = (text: string): Xml => element('dcc:declaration', [element('dcc:content', text, { lang: 'en' })]);
const place = element('dcc:location', [element('dcc:city', 'Eichwald (fictional)'), element('dcc:countryCode', 'DE')]);

/** Whom to ask: by its schema with an address for letters that nobody sends here. */
const contact = (name: string, eMail: string): readonly Xml[] => [named(name), element('dcc:eMail', eMail), place];

const identified = (issuer: string, value: string): Xml =>
  element('dcc:identification', [element('dcc:issuer', issuer), element('dcc:value', value)]);

function quantityOf(
  refType: string,
  name: string,
  unit: string,
  values: readonly string[],
  spread: readonly Xml[] = [],
) {
  const list = element('si:realListXMLList', [
    element('si:valueXMLList', values.join(' ')),
    element('si:unitXMLList', unit),
    ...spread,
  ]);
  return element('dcc:quantity', [named(name), list], { refType });
}

const DAY_MS = 86_400_000;

/** Decimals of a text, so that a difference is written as finely as what it is of. */
const decimalsOf = (text: string): number => text.split('.')[1]?.length ?? 0;

/** A digital calibration certificate (DCC 3.2.1, values by D-SI), signed by the laboratory on the day after. Both are invented. */
export function calibrationAsDcc(calibrated: Calibrated): string {
  const signedAt = new Date(Date.parse(`${calibrated.day}T09:30:00Z`) + DAY_MS).toISOString().replace('.000', '');
  return signedByLaboratory(writtenAsDcc(calibrated), LABORATORY, signedAt);
}

function writtenAsDcc(calibrated: Calibrated): string {
  const { certificate, instrument, serialNumber, day, recalibrateBy, quantity, unit, points } = calibrated;
  const errors = points.map(({ reference, shown }) => {
    const decimals = Math.max(decimalsOf(reference), decimalsOf(shown));
    return (Number(shown) - Number(reference)).toFixed(decimals);
  });
  const uncertainty = element('si:expandedUncXMLList', [
    element('si:uncertaintyXMLList', calibrated.expandedUncertainty),
    element('si:coverageFactorXMLList', '2'),
    element('si:coverageProbabilityXMLList', '0.95'),
  ]);
  const administrative = element('dcc:administrativeData', [
    element('dcc:dccSoftware', [element('dcc:software', [named('written for the demo'), element('dcc:release', '1')])]),
    element('dcc:coreData', [
      element('dcc:countryCodeISO3166_1', 'DE'),
      element('dcc:usedLangCodeISO639_1', 'en'),
      element('dcc:mandatoryLangCodeISO639_1', 'en'),
      element('dcc:uniqueIdentifier', certificate),
      element('dcc:beginPerformanceDate', day),
      element('dcc:endPerformanceDate', day),
      element('dcc:performanceLocation', 'laboratory'),
    ]),
    element('dcc:items', [
      element('dcc:item', [
        named(calibrated.title),
        element('dcc:manufacturer', [named('Demo instruments (fictional)')]),
        element('dcc:identifications', [identified('manufacturer', serialNumber), identified('customer', instrument)]),
      ]),
    ]),
    element('dcc:calibrationLaboratory', [element('dcc:contact', contact(LABORATORY, 'lab@eichwald.example'))]),
    element('dcc:respPersons', [
      element('dcc:respPerson', [
        element('dcc:person', [named('K. Eichwald (fictional)')]),
        element('dcc:mainSigner', 'true'),
      ]),
    ]),
    element('dcc:customer', contact('Demo cell (fictional)', 'quality@cell.example')),
    element('dcc:statements', [
      element(
        'dcc:statement',
        [declared('Within the errors that its maker allows.'), element('dcc:conformity', 'pass')],
        {
          refType: 'basic_conformity',
        },
      ),
      element('dcc:statement', [declared('To be calibrated again by'), element('dcc:date', recalibrateBy)], {
        refType: 'basic_recalibration',
      }),
    ]),
  ]);
  const results = element('dcc:measurementResults', [
    element('dcc:measurementResult', [
      named(`Calibration of ${quantity}`),
      element('dcc:results', [
        element('dcc:result', [
          named(`Errors of indication, ${quantity}`),
          element('dcc:data', [
            element('dcc:list', [
              quantityOf(
                'basic_referenceValue',
                'Reference',
                unit,
                points.map(({ reference }) => reference),
              ),
              quantityOf(
                'basic_measuredValue',
                'Shown',
                unit,
                points.map(({ shown }) => shown),
              ),
              quantityOf('basic_measurementError', 'Error of indication', unit, errors, [uncertainty]),
            ]),
          ]),
        ]),
      ]),
    ]),
  ]);
  return xmlDocument(element('dcc:digitalCalibrationCertificate', [administrative, results], DCC));
}
