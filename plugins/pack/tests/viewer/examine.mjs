// What the viewer finds in a pack, as JSON. usage: node examine.mjs PACK.zip
import { openAsBlob } from "node:fs";
import { examine } from "../../viewer/pack/pack.js";

const { intact, again, checks, signatures, seal } = await examine(await openAsBlob(process.argv[2]));
const problems = checks.flatMap((check) => check.problems);
console.log(JSON.stringify({ intact, again: again.state, differences: again.differences ?? [], problems, signatures, seal: seal.state }));
