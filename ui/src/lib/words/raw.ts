import { parse } from "svelte/compiler";

/** A node of a parsed file, whatever it is. */
interface Node {
  type: string;
  start: number;
  [part: string]: unknown;
}

/** A text that a person would read and that does not come out of the catalogue. */
export interface RawText {
  text: string;
  line: number;
}

/** Attributes whose text is read by people, of elements and of components. */
const READ = new Set(["alt", "aria-description", "aria-label", "head", "help", "kicker", "label", "named", "placeholder", "title", "words"]);
/** Attributes and directives that hold no language. */
const NOT_READ = new Set(["class", "d", "style", "transform", "viewBox"]);
/** Units, formats and names that are the same in every language. */
const SAME_EVERYWHERE = /\b(mm|in|px|km|km\/h|Hz|lb|ft|Shimwright|Letter|JSON|CSV|PDF|Bearer)\b|&nbsp;/g;
/** Names of keys. */
const KEYS = new Set(["Delete", "Backspace", "Enter", "Escape"]);

const hasWord = (text: string): boolean => /\p{L}{2,}/u.test(text.replace(SAME_EVERYWHERE, ""));

/** Whether a text in code speaks to people: words with a space between them, or one with a capital. */
function speaks(text: string): boolean {
  if (KEYS.has(text) || /^[(#.]/.test(text)) return false;
  const bare = text.replace(SAME_EVERYWHERE, "");
  return /\p{L}{2,}[^\p{L}\d]*\s.*\p{L}{2,}/u.test(bare) || /^\p{Lu}\p{Ll}+[.!?…]?$/u.test(bare);
}

/** Whether a text with values in it does: a whole word between spaces is enough. */
const templateSpeaks = (text: string): boolean => !text.startsWith("data:") && /(^|\s)\p{L}{2,}(?=[\s.,:;!?…]|$)/u.test(text.replace(SAME_EVERYWHERE, "").trimStart());

const isNode = (value: unknown): value is Node => typeof value === "object" && value !== null && typeof (value as Node).type === "string";

/** The parts of a node in which texts may stand. */
function parts(node: Node): unknown[] {
  // Types hold no texts, but what a type is put on may.
  if (node.type.startsWith("TS")) return [node["expression"]];
  if (node.type === "ImportDeclaration" || (node.type === "ExportNamedDeclaration" && node["source"])) return [];
  if (node.type === "MemberExpression") return [node["object"]];
  if (node.type === "Property" || node.type === "PropertyDefinition") return [node["value"]];
  const called = node.type === "CallExpression" || node.type === "NewExpression" ? ((node["callee"] as Node)["name"] as string | undefined) : undefined;
  // A key is no text; and what goes wrong inside the page is for its makers.
  if (called === "Error") return [];
  if (called === "t") return (node["arguments"] as unknown[]).slice(1);
  const skip = new Set(["type", "start", "end", "loc", "css", "metadata", "typeAnnotation", "returnType", "typeArguments", "typeParameters", "comments", "leadingComments", "trailingComments"]);
  return Object.entries(node).flatMap(([name, value]) => (skip.has(name) ? [] : [value]));
}

/** Every text of a Svelte or TypeScript file that should be in the catalogue. */
export function rawTexts(source: string, name: string): RawText[] {
  const [before, after] = name.endsWith(".svelte") ? ["", ""] : ['<script lang="ts">', "</script>"];
  const found: RawText[] = [];
  const note = (text: string, at: number): void => {
    found.push({ text: text.trim().replace(/\s+/g, " "), line: source.slice(0, at - before.length).split("\n").length });
  };

  function walk(value: unknown, read: boolean): void {
    if (Array.isArray(value)) return value.forEach((one) => walk(one, read));
    if (!isNode(value)) return;
    if (value.type === "StyleDirective" || value.type === "ClassDirective") return;
    if (value.type === "Attribute") {
      const attribute = value["name"] as string;
      if (NOT_READ.has(attribute)) return;
      const content = value["value"];
      return walk(content, READ.has(attribute));
    }
    if (value.type === "Text") {
      const text = value["data"] as string;
      if (read && hasWord(text)) note(text, value.start);
      return;
    }
    if (value.type === "Literal" && typeof value["value"] === "string") {
      if (speaks(value["value"])) note(value["value"], value.start);
      return;
    }
    if (value.type === "TemplateLiteral") {
      const text = (value["quasis"] as { value: { cooked: string } }[]).map((quasi) => quasi.value.cooked).join("0");
      if (templateSpeaks(text)) note(text, value.start);
      return walk(value["expressions"], read);
    }
    if (value.type === "RegularElement" || value.type === "Component" || value.type === "SvelteElement") {
      walk(value["attributes"], false);
      return walk(value["fragment"], true);
    }
    parts(value).forEach((part) => walk(part, read));
  }

  const tree = parse(before + source + after, { modern: true }) as unknown as { fragment: Node; instance: { content: Node } | null; module: { content: Node } | null };
  walk(tree.fragment, true);
  walk(tree.instance?.content, false);
  walk(tree.module?.content, false);
  return found;
}
