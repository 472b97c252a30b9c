/** `npm run bill`: the bill of materials (CycloneDX) and the list of licences of what people get, into test-output. What npm cannot make is said in words, and is no failure. */
import { mkdirSync, writeFileSync } from "node:fs";
import { billOfMaterials, licenceOf } from "../packaging/locked-packages.ts";

const OUTPUT = "test-output";

mkdirSync(OUTPUT, { recursive: true });
const bill = billOfMaterials();
if (bill === null)
  console.log("No bill of materials: this npm cannot make one (npm sbom needs npm 9.9 or later); the licences are checked all the same");
else {
  writeFileSync(`${OUTPUT}/sbom.cdx.json`, bill.text);
  writeFileSync(
    `${OUTPUT}/licences.txt`,
    bill.components
      .map((one) => `${one.name} ${one.version}: ${licenceOf(one)}\n`)
      .sort()
      .join(""),
  );
  console.log(`Bill of materials: ${bill.components.length} packages, in ${OUTPUT}/sbom.cdx.json and ${OUTPUT}/licences.txt`);
}
