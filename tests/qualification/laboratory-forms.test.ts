import { execFileSync, spawnSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import { dimensionsAsQif } from '../../src/qualification/pins/pin-lab.js';
import { PIN_CERTIFICATES } from '../../src/qualification/pins/pin-site.js';
import { temporaryFolder } from '../support/cell.js';
import { type ContentModels, modelProblems } from '../support/content-models.js';
import { hasTool } from '../support/tools.js';

/**
 * What laboratories of the demo send, against the forms of their schemas: here which elements stand in which, in our own
 * words, taken from DCC 3.2.1 with D-SI 2.1.0 (Physikalisch-Technische Bundesanstalt) and from QIF 3.0 (Digital Metrology
 * Standards Consortium), for the elements that they use. The schemas themselves are not kept here. Where a folder with them
 * is named (LOTWRIGHT_SCHEMAS, with `dcc/dcc.xsd` and `qif/QIFDocument.xsd`), xmllint holds the same files against them.
 */

const CONTACT = 'name eMail? phone? fax? location? descriptionData?';
const DCC: ContentModels = {
  digitalCalibrationCertificate: 'administrativeData measurementResults comment? document? Signature*',
  administrativeData:
    'all: dccSoftware refTypeDefinitions? coreData items calibrationLaboratory respPersons customer statements?',
  ...{ dccSoftware: 'software+', software: 'name release type? description?', name: 'content+' },
  coreData: `countryCodeISO3166_1 usedLangCodeISO639_1+ mandatoryLangCodeISO639_1+ uniqueIdentifier identifications?
    receiptDate? beginPerformanceDate endPerformanceDate performanceLocation issueDate? reportAmendedSubstituted? previousReport?`,
  items: 'name? equipmentClass* description? owner? manufacturer? identifications? item+',
  item: 'name equipmentClass* description? installedSoftwares? manufacturer? model? identifications itemQuantities?',
  ...{
    manufacturer: CONTACT,
    person: CONTACT,
    identifications: 'identification+',
    identification: 'issuer value name?',
  },
  calibrationLaboratory:
    'calibrationLaboratoryCode? contact cryptElectronicSeal? cryptElectronicSignature? cryptElectronicTimeStamp?',
  ...{ contact: CONTACT.replace('location?', 'location'), customer: CONTACT.replace('location?', 'location') },
  location:
    '(city | countryCode | postCode | postOfficeBox | state | street | streetNo | further | positionCoordinates)+',
  respPersons: 'respPerson+',
  respPerson:
    'person description? role? mainSigner? cryptElectronicSeal? cryptElectronicSignature? cryptElectronicTimeStamp?',
  statements: 'statement+',
  statement: `name? description? countryCodeISO3166_1* convention? traceable? norm* reference* declaration?
    (valid | validXMLList)? date? period? respAuthority? (conformity | conformityXMLList)? data? nonSIDefinition? nonSIUnit? location?`,
  ...{ declaration: 'name? (content | file | formula)*', measurementResults: 'measurementResult+' },
  measurementResult: `name description? usedMethods? usedSoftware? measuringEquipments? influenceConditions? results
    measurementMetaData?`,
  ...{ results: 'result+', result: 'name description? data' },
  data: '(text | formula | byteData | xml | quantity | list)+',
  list: 'name? description? dateTime? (quantity | list)+ usedMethods? usedSoftware? measuringEquipments? influenceConditions? measurementMetaData?',
  quantity: `name? description? (noQuantity | charsXMLList | real | list | hybrid | complex | constant | realListXMLList)
    relativeUncertainty? usedMethods? usedSoftware? measuringEquipments? influenceConditions? measurementMetaData?`,
  realListXMLList: `labelXMLList? valueXMLList unitXMLList dateTimeXMLList? (expandedUncXMLList | coverageIntervalXMLList)?
    (ellipsoidalRegionXMLList | rectangularRegionXMLList)?`,
  expandedUncXMLList: 'uncertaintyXMLList coverageFactorXMLList coverageProbabilityXMLList distributionXMLList?',
};
/** XML Signature 1.1 and ETSI EN 319 132-1, as far as the demo uses them. */
const SIGNED: ContentModels = {
  ...{
    Signature: 'SignedInfo SignatureValue KeyInfo? Object*',
    Transforms: 'Transform+',
    Object: 'QualifyingProperties',
  },
  SignedInfo: 'CanonicalizationMethod SignatureMethod Reference+',
  Reference: 'Transforms? DigestMethod DigestValue',
  ...{ KeyInfo: 'X509Data', X509Data: 'X509Certificate+', QualifyingProperties: 'SignedProperties' },
  SignedProperties: 'SignedSignatureProperties SignedDataObjectProperties?',
  SignedSignatureProperties: 'SigningTime? SigningCertificateV2?',
  ...{ SigningCertificateV2: 'Cert+', Cert: 'CertDigest IssuerSerialV2?', CertDigest: 'DigestMethod DigestValue' },
};
const IDS = 'Id+';
const STATUS = 'CharacteristicStatusEnum | OtherCharacteristicStatus | InspectionStatusEnum | OtherInspectionStatus';
const QIF: ContentModels = {
  QIFDocument: `QPId Attributes? VersionHistory? Version? Header? ValidationCounts? ProductDataQuality? ExternalQIFReferences?
    StandardsDefinitions? SoftwareDefinitions? AlgorithmDefinitions? PreInspectionTraceability? FileUnits? DatumDefinitions?
    DatumTargetDefinitions? Transforms? CoordinateSystems? DatumReferenceFrames? MeasurementResources? ThreadSpecifications?
    Product? Features? FeatureZones? Characteristics? Plan? Results? Statistics? ManufacturingProcessTraceabilities? Rules?
    UserDataXML? Signature?`,
  Header: 'Application? Author? ApplicationSource? Description? Scope?',
  StandardsDefinitions: 'Standard+',
  Standard: 'Attributes? Organization Designator Year? Title? Description? URI? ISBN? ReferencedStandardIds?',
  ...{
    Organization: 'StandardsOrganizationEnum | OtherStandardsOrganization',
    MeasurementDevices: 'MeasurementDevice+',
  },
  FileUnits: 'PrimaryUnits OtherUnits? UserDefinedUnits?',
  PrimaryUnits: `AreaUnit? PMIAreaUnit? AngularUnit? PMIAngularUnit? ForceUnit? LinearUnit? PMILinearUnit? MassUnit?
    PressureUnit? SpeedUnit? TemperatureUnit? TimeUnit?`,
  ...{ LinearUnit: 'SIUnitName? UnitName UnitConversion?', UnitConversion: 'Factor Offset?' },
  MeasurementResources: 'Version? Fixtures? MeasurementRooms? MeasurementDevices? DetachableSensors? Tools?',
  MeasurementDevice: `Name Description? Manufacturer? ModelNumber? SerialNumber? Mass? Size? (LocationId | Location)?
    Attributes? Calibrations? EnvironmentalRange?`,
  Characteristics: `FormalStandardId CharacteristicDefinitions DefaultCharacteristicDefinitions? DefaultToleranceDefinitions?
    CharacteristicNominals CharacteristicItems? CharacteristicGroups? SimultaneousRequirementGroups?`,
  CharacteristicDefinitions: 'ThicknessCharacteristicDefinition+',
  CharacteristicNominals: 'ThicknessCharacteristicNominal+',
  CharacteristicItems: 'ThicknessCharacteristicItem+',
  CharacteristicMeasurements: 'ThicknessCharacteristicMeasurement+',
  ThicknessCharacteristicDefinition: `Attributes? Description? Name? CharacteristicDesignator? FreeState?
    StatisticalCharacteristic? CommonZone? CommonTolerance? MedianFeature? EnvelopeRequirement? Independency?
    UnitedOrContinuousFeature? SeparateZone? DimensionType? DimensionModifiers? (Tolerance | NonTolerance)`,
  Tolerance:
    '(MaxValue MaxDualValue? (MinValue MinDualValue?)? | MinValue MinDualValue? | DefinitionId) DefinedAsLimit Attributes?',
  ThicknessCharacteristicNominal: `Attributes? Description? CharacteristicDefinitionId FeatureNominalIds?
    SubstituteFeatureAlgorithm? FeatureZoneIds? EntityInternalIds? EntityExternalIds? Name? CharacteristicDesignator?
    TargetValue? TargetDualValue?`,
  ThicknessCharacteristicItem: `Attributes? Description? Name? CharacteristicDesignator? FeatureItemIds?
    SubstituteFeatureAlgorithm? NotableEventIds? MeasurementDeviceIds? CharacteristicNominalId LocationOnDrawing?
    VirtualMeasurement?`,
  ThicknessCharacteristicMeasurement: `Attributes? Description? Status CharacteristicItemId TimeStamp?
    FeatureMeasurementIds? SubstituteFeatureAlgorithm? ActualComponentId? MeasurementDeviceIds? ManufacturingProcessId?
    NotedEventIds? NonConformanceDesignator? Value? MaxValue? MinValue?`,
  ...{ Status: STATUS, InspectionStatus: STATUS, MeasurementDeviceIds: IDS, ActualComponentIds: IDS },
  Results: 'Version? MeasurementResultsSet ActualComponentSets? InspectionTraceability?',
  MeasurementResultsSet: 'MeasurementResults+',
  MeasurementResults: `Attributes? InspectionTraceability? ThisResultsInstanceQPId? ExternalFileReferences? MeasuredFeatures?
    MeasuredPointSets? MeasuredCharacteristics? ActualTransforms? CoordinateSystemActualTransformAssociations?
    InspectionStatus ActualComponentIds?`,
  MeasuredCharacteristics: 'CharacteristicMeasurements CharacteristicGroupStatuses?',
  ...{ ActualComponentSets: 'ActualComponentSet+', ActualComponentSet: 'ActualComponent+' },
  ActualComponent: 'Attributes? SerialNumber? AdditionalChanges? Status Traceability? AsmPathId?',
};

const qif = dimensionsAsQif('CMM-2', { lower: '1.45', upper: '1.55' }, [
  { serial: 'P-1', valueMm: '1.501', standardUncertaintyMm: '0.002', at: '2031-03-01T09:30:00Z' },
  { serial: 'P-2', valueMm: '1.503', standardUncertaintyMm: '0.002', at: '2031-03-01T09:31:00Z' },
]);
const certificates = Object.entries(PIN_CERTIFICATES);

it.each(certificates)('has the form of a digital calibration certificate: %s', (_, text) => {
  expect(text).toContain('schemaVersion="3.2.1"');
  expect(modelProblems(text, { ...DCC, ...SIGNED })).toEqual([]);
});

it('has the form of results by QIF', () => {
  expect(modelProblems(qif, QIF)).toEqual([]);
});

// So that what is written above says what others write too, and not only what is written here.
it('finds the same forms in the certificate and in the results that were published', () => {
  const reference = (name: string) => fs.readFileSync(`tests/reference/${name}`, 'utf8');
  const published = reference('dcc/dcc_gp_temperature_typical_v12.xml');
  expect(modelProblems(published, DCC, { others: 'passed by' })).toEqual([]);
  // They measure other characteristics; what else is called as these is a text there, or has parts of its own.
  const others = /^(?:Characteristic(?:Definitions|Nominals|Items|Measurements)|Header|Organization|Status|Tolerance)$/;
  const common = Object.fromEntries(Object.entries(QIF).filter(([name]) => !others.test(name)));
  for (const name of ['QIF_Results_Sample.QIF', 'testPython30.qif'])
    expect(modelProblems(reference(`qif/${name}`), common, { others: 'passed by' })).toEqual([]);
});

it.each<[string, (text: string) => string, RegExp]>([
  [
    'a laboratory without a place',
    (text) => text.replace(/<dcc:location>[\s\S]*?<\/dcc:location>/, ''),
    /contact holds/,
  ],
  ['a day too early', (text) => swapped(text, 'uniqueIdentifier', 'beginPerformanceDate'), /coreData holds/],
  [
    'no maker and no numbers',
    (text) => text.replace(/<dcc:identifications>[\s\S]*?<\/dcc:identifications>/, ''),
    /item holds/,
  ],
  ['a unit before its value', (text) => swapped(text, 'valueXMLList', 'unitXMLList'), /realListXMLList holds/],
])('finds %s', (_, spoil, says) => {
  const [, text] = certificates[0]!;
  const spoilt = spoil(text);
  expect(spoilt).not.toBe(text);
  expect(modelProblems(spoilt, { ...DCC, ...SIGNED }).join('\n')).toMatch(says);
});

/** The text with two elements named otherwise, the one as the other. */
function swapped(text: string, one: string, other: string): string {
  const names = new RegExp(`(</?[a-z]+:)(${one}|${other})(?=[ >])`, 'g');
  return text.replaceAll(names, (_, head: string, name: string) => `${head}${name === one ? other : one}`);
}

const schemas = process.env.LOTWRIGHT_SCHEMAS;
const why =
  schemas === undefined ? 'LOTWRIGHT_SCHEMAS names no folder with them' : 'xmllint is missing (libxml2-utils)';
describe.skipIf(schemas === undefined || !hasTool('xmllint'))(
  `by the schemas themselves (skipped where ${why})`,
  () => {
    const folder = temporaryFolder('laboratory-forms');

    it.each([
      ...certificates.map(([name, text]) => ['dcc/dcc.xsd', path.basename(name), text] as const),
      ['qif/QIFDocument.xsd', 'results.qif', qif] as const,
    ])('holds by %s: %s', (schema, name, text) => {
      const file = path.join(folder, name);
      fs.writeFileSync(file, text);
      const args = ['--nonet', '--noout', '--schema', path.join(schemas!, schema)];
      expect(spawnSync('xmllint', [...args, file], { encoding: 'utf8' }).stderr).toContain('validates');
      // And what is not valid is told.
      fs.writeFileSync(file, text.replace(/<(?:dcc:)?(?:item|Results)>/, '$&<other/>'));
      expect(() => execFileSync('xmllint', [...args, file], { stdio: 'ignore' })).toThrow();
    });
  },
);
