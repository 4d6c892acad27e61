import { allIdentifiers } from '../base/element-strings/identifiers.js';
import { STREAM_VERSIONS } from './stream-versions.js';

interface OpenFormat {
  readonly name: string;
  readonly versions: string;
  readonly read: string;
  readonly passedBy: string;
  readonly refused: string;
  readonly source: string;
}

const first = STREAM_VERSIONS[0];
const last = STREAM_VERSIONS.at(-1);

/** What is read of each format that others publish. Its limits stand with all others above. */
const OPEN_FORMATS: readonly OpenFormat[] = [
  {
    name: 'Streams of MTConnect',
    versions: `${first} to ${last}, ${STREAM_VERSIONS.length} in all, told by the namespace of each document; where its header names another one, that is a finding at alert level`,
    read: `Documents one behind the other, plain or gzip, as answers to *sample* or *current* that a recorder appended, or
as a multipart answer was saved, with its boundaries and headers. Each time at which the machine reported anything is a row;
a value holds until the next one, and \`UNAVAILABLE\` is none. The channel map says which data item is which channel and in
which unit it is reported; with \`key\`, which entry of a data set or a table, and with \`cell\`, which cell of the entry. An
entry holds until it is told anew, removed, reset or unavailable. A time series is one row for each value, the last at the
time of the observation, at its own \`sampleRate\` or at \`sampleRateHz\` of the map. Conditions that the map names are findings
from the time at which they begin to their end; two of one native code are told apart by \`conditionId\`, and a *Normal*
with a code and no \`conditionId\` ends all of that code. Times are cut off to microseconds. Numbers of observations that were lost, and
an agent that was started again, are findings. Files that a recorder began anew, such as one for each hour, are read as one
stream where agent, start of the agent and channel map are the same: what the machine told in one holds in the next, in
whatever order a lot names them.`,
    passedBy: `Data items that the map does not name, whatever they hold; comments and processing instructions; attributes
and elements of extensions; observations that an earlier document had.`,
    refused: `As a whole, with the line: another version, \`MTConnectError\`, a document that is cut or is no well-formed XML, a
document type declaration (and with it every entity of its own), another encoding than UTF-8, an observation without data item, time
or sequence number, a time without offset, a set of values where the map names no key, a single value where it names
one, text beside the entries of a set, and a key that stands twice. As a row: a value that is no number, and a time series whose \`sampleCount\` is not the
number of its values or that has no rate. A document may have any number of observations: what is more than the memory holds is
sorted on disk.`,
    source: `schemas MTConnectStreams_*.xsd of the MTConnect Institute, github.com/mtconnect/cppagent, commit 708116f; representations
and conditions by the text of the standard, github.com/mtconnect/standard_doc_generator, commit 1e9d3e8`,
  },
  {
    name: 'Devices of MTConnect',
    versions: `${first} to ${last}, told by the namespace; where the header names another one, the proposal says so`,
    read: `Once, to propose a channel map (\`lotwright channel-map\`): each data item of the category SAMPLE that is one number or a
time series, in a unit of the standard, which is written by UCUM.`,
    passedBy: `Samples in three numbers, in a unit that is none of the standard, and sets, each named beside the proposal with the
reason; events, which are listed for the place; everything else.`,
    refused: `Another version, what is no well-formed XML, a document type declaration, a data item without identifier or twice,
several devices of which none is named.`,
    source: `schemas MTConnectDevices_*.xsd of the MTConnect Institute, github.com/mtconnect/cppagent, commit 708116f`,
  },
  {
    name: 'CSV of logs and result sheets',
    versions: 'RFC 4180, in UTF-8',
    read: `Commas, decimal points, records that end with LF or CR LF, quotes around fields that hold a comma or a quote. In
result sheets a field in quotes may hold line ends of either kind; a problem names the line on which its row begins.`,
    passedBy: 'Empty lines, and a byte order mark.',
    refused: `A quote inside a field that is not in quotes, text behind a closing quote, a quote that is never closed, and a last
line without its end, with line and place; in logs, where such a row is rejected, also a field that goes over lines.`,
    source: 'RFC 4180',
  },
  {
    name: 'Results by QIF (ISO 23952)',
    versions: '3.0, and 2.0 and 2.1 before it, told by the namespace; `versionQIF` has to agree with it',
    read: `As exports of an instrument (\`exports/PROFILE/NAME.qif\`), by a profile of one table whose columns are
\`SerialNumber\` (of the actual component), \`TimeStamp\` (of the value, else the end of the inspection, which by the schema is a
time of Greenwich), each characteristic by its name, else its designator, and \`u(NAME)\`, its combined uncertainty. Each value is a
row of results with the line of its measurement. Its unit is the one that it names, else the primary one of its sort, and is told by
the factor in the file, whatever its name. Numbers have a point, whatever \`decimal\` of the profile says of other exports.`,
    passedBy: `Values of characteristics that the profile does not name, measurements without a value, everything that is no
result: features, plans, models, statistics; and what belongs to other namespaces, with all that is in it. What the file says of conforming is not believed: limits are those of the specification.`,
    refused: `As a whole, with the line: another version, what is no well-formed XML or no UTF-8, a document type declaration, a
value whose characteristic is not there, a value in another unit than the profile takes it in, one with several units or none, one that
stands twice, holds an element or is longer than 2 000 characters (so also a name, number or identifier that is read), another encoding, two characteristics of one name that the profile takes. As a row: no serial number, or several components; no time; what is no number.`,
    source: `schemas and samples of the Digital Metrology Standards Consortium, github.com/QualityInformationFramework/qif-community,
commit 360b05e`,
  },
  {
    name: 'Digital calibration certificates (DCC)',
    versions: '2.3 to 3.4 of the schema of the Physikalisch-Technische Bundesanstalt, with values by D-SI 1 and 2',
    read: `As the file of a calibration of an instrument: identifier, days, numbers of what was calibrated, what it states of
conforming and of the next calibration, with which the instrument has to agree; and each value of the results with its unit (by
D-SI, and by UCUM where it is known here), its standard or expanded uncertainty with coverage factor (of an interval its standard one; in a list also what
the list states of all), or the name of an element that states one in a form that is not read, and its line
(the page \`/evidence/{sha256}/certificate\`, to which *Find* leads from the instrument, and \`GET /api/v1/evidence/{sha256}/certificate\`).
Of a value in several units the first is told, and the others have to say the same. Signatures (XML Signature as the schema has it:
enveloped, as a child of the root, over the whole document with what stands around its root; Canonical XML 1.0, 1.1 or exclusive; the
signature left out by *enveloped-signature*, or by the path \`/descendant::ds:Signature\` of XPath Filter 2.0; RSA by PKCS #1 or PSS, or
ECDSA, with SHA-256, SHA-384 or SHA-512; time and certificate by XAdES) are verified, and only what was signed is believed. One is *trusted*
where the document of a supplier names, under \`signsWith\`, the SHA-256 of the signer's certificate, or of one beside it that issued it while it was valid itself, with no digest of SHA-1 or older;
that nobody signed, or that nobody named the certificate, is told. One that says that it signed when its certificate was not valid
is not trusted, nor one whose time cannot be read, or has no zone and would be outside in one of them; where it does not say when, that is told. Whether a certificate was revoked is not asked: this program asks
nobody.`,
    passedBy: `Conditions, methods, equipment of the laboratory, pictures and papers inside, and what belongs to other
namespaces. A certificate as PDF is kept, and read by people.`,
    refused: `With the line: another version, what is no well-formed XML or no UTF-8, a document type declaration, no identifier, day
or item, lists of different lengths, what is no number, elements inside a text that is read, an element that stands twice where one is read,
another encoding, two units that do not say the same, a signature that does not hold, covers
less than the whole, names another certificate than the one that made it, or is made in another way (SHA-1, RSA of less than 2048 bits, a curve of less than 256, a shared key), instructions inside a document that is signed; with the field of the instrument: another
certificate, a day outside, another number, a longer term than it states, *in tolerance* where it states that it fails.`,
    source: `certificates of the Physikalisch-Technische Bundesanstalt, signed and unsigned, as kept at github.com/siemens/pydcc, commit
0f45eb8; its schemas DCC 3.2.1 (github.com/OpenChargingCloud/WWCP_DCC, commit e2c6a63) and D-SI 2.1.0
(github.com/TC-IM-1448/DFM_DCC_generator_w_etree, commit 5823ae7); forms of D-SI 2.2 from memory of its schema; signatures made by xmlsec1; W3C XML Signature 1.1, XPath Filter 2.0 and RFC
9231 for the names of algorithms, from memory`,
  },
  {
    name: 'Material certificates, CSV or XML',
    versions: 'whatever the certificate profile declares; nothing is guessed',
    read: `As the file of a certificate of a receipt that names its profile under \`readBy\`: a text of which each row holds one value, or
one property a column with its unit in its name or below it (\`propertyColumns\`), or XML of which each element holds one value, by paths
(\`@symbol\`, \`Value/@unit\`, \`/Certificate/Number\`). Each value with its unit, its standard
uncertainty or its expanded one with the coverage factor (of a column or of all rows; divided out to nine digits), its method and
detection limit becomes a line of the receipt, with the line of the file that says it, and the column where each property has one
(the page \`/receipts/{receipt}/certificate\`, to which *Find* leads from the receipt, with what stands at its place in the file, and
\`GET /api/v1/receipts/{receipt}/certificate\`). Lines that are written too have to agree in all that they
say; \`sampling\`, which no profile reads, stays as it is written.`,
    passedBy:
      'Rows of other certificates, heats or lots of the supplier; columns that the profile does not name, where a row holds one value; elements of other namespaces.',
    refused: `With the line and the column: a property, unit or number that is none of the profile (so also columns that are shifted), a
property twice (so also two units for one value), one that is always needed and missing, an uncertainty in another unit than its value where a line
says the units, elements inside a value, another number of fields than the head line
has, a column that the profile does not name where each property has one, a last line that is not ended (but where the profile
says so), an element that stands twice where one is read, a file without a row of this receipt, a document type declaration, and lines
of the receipt that say something else.`,
    source: 'this program',
  },
  {
    name: 'Exports of instruments, text or workbook',
    versions: 'whatever the instrument profile declares; nothing is guessed. Workbooks as of ISO/IEC 29500 (XLSX)',
    read: `As files of a lot under \`exports/PROFILE/\`: one table or several, below each other or on sheets, each with its head line, its
columns, units, decimal sign and form of time, and what holds for all rows. Each value becomes a row of results with its line.`,
    passedBy:
      'Columns that the profile does not name, cells that hold nothing, and what stands above and below a table.',
    refused: `As a whole: a column of the profile that is missing or there twice, a table or sheet that is not there, and a last line that is
not ended, which may have been cut, but where the profile says so (\`lastLine\`). As a row, with its column: another number of
fields, so also columns that are shifted, and what is no code, time or number of the form.`,
    source: 'this program; RFC 4180 for quotes; ISO/IEC 29500 for workbooks',
  },
  {
    name: 'CSV of loggers',
    versions: 'whatever the channel map declares with `source: CSV logger`; nothing is guessed',
    read: `Comma, semicolon, tab or bar between fields, decimal point or comma, lines above the head line, and time in one column
or two: ISO with its offset, seconds or milliseconds since 1970, or a pattern such as \`DD.MM.YYYY HH:mm:ss.S\` with the zone
of the clock. In the hour that comes twice a time is the one that follows the row before within the gap that the log may
have.`,
    passedBy: 'Columns that the map does not name, lines above the head line, and empty lines.',
    refused: `As a whole: a head line without a column of the map, or with one twice. As a row: a time in another form, one that
the clock leaves out, one in the hour that comes twice that nothing tells apart, a decimal sign or mark of thousands that the
map does not declare, and another number of fields.`,
    source: 'this program; zones by the time zone data of Node',
  },
  {
    name: 'Tables inside a record',
    versions: 'as its manifest says',
    read: 'CSV with LF, and quotes only where a field needs them, so that equal tables have equal bytes.',
    passedBy: 'Nothing.',
    refused: 'Every table that the program would have written with other bytes.',
    source: 'this program',
  },
  {
    name: 'Units',
    versions: 'UCUM 2.2, case sensitive',
    read: `Codes as UCUM writes them, with prefixes on metric units alone, exponents, \`.\` and \`/\`, brackets, factors and
annotations.`,
    passedBy: 'Nothing; an annotation says a basis only where it is `{vol}`, `{mass}` or alike.',
    refused: `Other spellings (\`Mpa\`, \`psi\`), prefixes on units that take none (\`kmin\`, \`m[psi]\`, \`kCel\`), and whatever its
grammar does not allow; the message says what may be meant.`,
    source: `ucum-essence.xml, github.com/ucum-org/ucum, commit d060c6d; held against all validations and conversions of UCUM's
functional tests (tests/reference/ucum)`,
  },
  {
    name: 'Scanned codes',
    versions: `GS1 element strings, ${allIdentifiers().length} application identifiers`,
    read: `What a scanner hands over with its symbology identifier (\`]C1\`, \`]d2\`, \`]Q3\`, \`]e0\`, \`]J1\`), with separators (ASCII
29), or beginning with 01 and a GTIN whose check digit is right; and what people type, \`(01)…(21)…\`. A code of any other
kind is its text. Years of two digits lie within 50 years.`,
    passedBy:
      'One separator behind any element. Lists of countries and currencies, bank accounts and packages are not looked up.',
    refused: `A check digit or pair that is wrong, a day that no calendar has, wrong length or characters, an identifier twice, two
that exclude each other, and coupons; of a device also a month without a day.`,
    source:
      'GS1 Barcode Syntax Dictionary, github.com/gs1/gs1-syntax-dictionary, commit ff2eb4b, against which the table and 1 800 test vectors of its checks are held (tests/reference/gs1)',
  },
];

/** The section of docs/formats.md on what others publish. */
export function openFormatsText(): string {
  const parts = OPEN_FORMATS.map(
    ({ name, versions, read, passedBy, refused, source }) => `### ${name}

- Versions: ${versions}.
- Read: ${read}
- Passed by: ${passedBy}
- Refused: ${refused}
- Source: ${source}.
`,
  );
  return `## Formats that others publish\n\n${parts.join('\n')}`;
}
