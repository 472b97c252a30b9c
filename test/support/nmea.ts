/** A sentence of NMEA 0183 round its fields. The checksum is the exclusive or of what stands between $ and *, in two hexadecimal digits (gpsd, NMEA.adoc); the code under test has its own. */
export function nmeaSentence(fields: string): string {
  const sum = Buffer.from(fields, "latin1").reduce((all, byte) => all ^ byte, 0);
  return `$${fields}*${sum.toString(16).toUpperCase().padStart(2, "0")}\r\n`;
}
