/**
 * Names and units of CSV files, in a file beside them, as "CSV on the Web" wants it (W3C Recommendation, Metadata Vocabulary for Tabular Data,
 * 5.3: NAME-metadata.json beside one file, csv-metadata.json in a folder). The CSV itself stays a row of names above rows of values.
 */

export interface DescribedCsv {
  /** The file's name, without its folder. */
  readonly file: string;
  readonly names: readonly string[];
  /** Empty: it has none. */
  readonly units: readonly string[];
}

/** Of several files in a folder. */
export const FOLDER_METADATA = "csv-metadata.json";
export const metadataOf = (file: string): string => `${file}-metadata.json`;

const schemaOf = ({ names, units }: DescribedCsv) => ({
  columns: names.map((name, i) => ({ titles: name, ...(units[i] ? { "schema:unitText": units[i] } : {}) })),
});

/** One file: its own description. Several: columns once where they are all the same, otherwise with each file. */
export function csvMetadata(files: readonly DescribedCsv[]): string {
  const [first] = files;
  const context = { "@context": "http://www.w3.org/ns/csvw" };
  if (first === undefined) return `${JSON.stringify({ ...context, tables: [] })}\n`;
  const schemas = files.map(schemaOf);
  const alike = schemas.every((schema) => JSON.stringify(schema) === JSON.stringify(schemas[0]));
  const whole =
    files.length === 1
      ? { ...context, url: encodeURIComponent(first.file), tableSchema: schemas[0] }
      : {
          ...context,
          ...(alike ? { tableSchema: schemas[0] } : {}),
          tables: files.map(({ file }, i) => ({ url: encodeURIComponent(file), ...(alike ? {} : { tableSchema: schemas[i] }) })),
        };
  return `${JSON.stringify(whole, null, 1)}\n`;
}
