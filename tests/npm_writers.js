// Opens a workbook with three libraries of the npm registry and saves it again: node npm_writers.js FILE FOLDER
// NODE_PATH says where they are installed (npm install exceljs xlsx xlsx-populate).
const [source, folder] = process.argv.slice(2);

async function main() {
  const exceljs = new (require("exceljs").Workbook)();
  await exceljs.xlsx.readFile(source);
  await exceljs.xlsx.writeFile(`${folder}/exceljs.xlsx`);
  const sheetjs = require("xlsx");
  sheetjs.writeFile(sheetjs.readFile(source, { cellStyles: true, cellNF: true }), `${folder}/sheetjs.xlsx`);
  const populate = await require("xlsx-populate").fromFileAsync(source);
  await populate.toFileAsync(`${folder}/xlsx-populate.xlsx`);
}

main().catch((error) => {
  console.error(error);
  process.exit(1);
});
