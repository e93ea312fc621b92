// Lines of a checksum manifest of a BagIt bag (RFC 8493): checksum, blanks, path.

const LENGTHS = { sha256: 64, sha512: 128 };
export const WEB_NAMES = { sha256: "SHA-256", sha512: "SHA-512" };

/** Path to checksum, and what is wrong with the text. */
export function readManifest(text, algorithm) {
  const sums = new Map();
  const problems = [];
  text.split(/\r\n|\r|\n/).forEach((line, index) => {
    if (line === "") return;
    const found = /^([0-9A-Fa-f]+)[ \t]+\*?(.+)$/.exec(line);
    if (!found || found[1].length !== LENGTHS[algorithm]) {
      problems.push(`line ${index + 1} is no ${WEB_NAMES[algorithm]} checksum with a path`);
      return;
    }
    const path = decode(found[2]);
    if (sums.has(path)) problems.push(`line ${index + 1} lists ${path} a second time`);
    sums.set(path, found[1].toLowerCase());
  });
  return { sums, problems };
}

/** Line ends and the sign itself are written as `%0A`, `%0D`, `%25`. */
function decode(path) {
  return path.replace(/%(0A|0D|25)/gi, (code) => decodeURIComponent(code)).replace(/^\.\//, "");
}

/** Labels and values of `bag-info.txt`; a line that starts with a blank goes on with the value before. */
export function readLabels(text) {
  const labels = [];
  for (const line of text.split(/\r\n|\r|\n/)) {
    const found = /^([^\s:][^:]*?)\s*:\s*(.*)$/.exec(line);
    if (/^[ \t]/.test(line) && labels.length) labels.at(-1).value += ` ${line.trim()}`;
    else if (found) labels.push({ label: found[1], value: found[2] });
  }
  return labels;
}
