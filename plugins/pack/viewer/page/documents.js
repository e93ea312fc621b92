// The files of the pack: each can be opened in a tab of its own, straight from the zip.
import { unpack } from "../pack/zip_member.js";
import { el, table, word } from "./elements.js";

const TEXTS = /\.(txt|csv|tsv|toml|json|jsonl|xml|xsd|hbs|css|svg|md)$/i;
const TYPES = [
  [/\.pdf$/i, "application/pdf"],
  [/\.html?$/i, "text/html;charset=utf-8"],
  [/\.png$/i, "image/png"],
  [/\.jpe?g$/i, "image/jpeg"],
  [TEXTS, "text/plain;charset=utf-8"],
];

/** Scripts in a page of the pack stay off, and it can load nothing: it is shown as the document that it is. */
const NO_SCRIPTS = `<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; img-src data:; font-src data:">`;

const ROLES = { paper: "report", summary: "summary", source: "original file", schema: "format", standard: "standard's data", template: "template", record: "record", assessment: "assessment", viewer: "viewer", other: "other" };

export function documentTable(pack, blob) {
  const roles = new Map((pack.contents?.files ?? []).map((one) => [one.path, one]));
  const problems = new Set(pack.checks.flatMap((check) => check.problems.map(({ path }) => path)));
  const unread = new Set(pack.unread);
  const rank = (path) => ["paper", "record", "assessment", "summary", "source"].indexOf(roles.get(path)?.role) + 1 || 9;
  const paths = [...pack.files.keys()].sort((a, b) => rank(a) - rank(b) || (a < b ? -1 : 1));
  return table(
    "Every file of the pack",
    ["File", "What it is", "#Bytes", "State", "Open"],
    paths.map((path) => [
      path,
      ROLES[roles.get(path)?.role] ?? (path.startsWith("data/") ? "not in the table of contents" : "of the bag"),
      pack.files.get(path).size.toLocaleString("en"),
      word(problems.has(path) ? "failed" : unread.has(path) ? "not-checked" : "ok"),
      opener(path, pack.files.get(path), blob),
    ]),
  );
}

function opener(path, entry, blob) {
  const cell = el("span", null);
  const button = el("button", { type: "button", "aria-label": `Open ${path}` }, "Open");
  button.addEventListener("click", async () => {
    button.disabled = true;
    try {
      const link = linkTo(path, await unpack(blob, entry));
      cell.replaceChildren(link);
      link.focus();
      link.click();
    } catch (error) {
      cell.replaceChildren(el("span", { role: "alert" }, error.message));
    }
  });
  cell.append(button);
  return cell;
}

function linkTo(path, bytes) {
  const name = path.split("/").at(-1);
  const type = TYPES.find(([ending]) => ending.test(path))?.[1] ?? "application/octet-stream";
  const parts = type.startsWith("text/html") ? withoutScripts(bytes) : [bytes];
  const href = URL.createObjectURL(new Blob(parts, { type }));
  const download = type === "application/octet-stream" ? name : null;
  return el("a", { href, download, target: "_blank", rel: "noopener", "aria-label": `Open ${path} again` }, "Open again");
}

function withoutScripts(bytes) {
  const text = new TextDecoder().decode(bytes);
  const start = /^\uFEFF?\s*(<!doctype[^>]*>)?/i.exec(text)[0];
  return [start, NO_SCRIPTS, text.slice(start.length)];
}
