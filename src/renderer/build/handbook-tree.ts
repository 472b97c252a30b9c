/**
 * A chapter of the handbook as plain data: elements and text. Markdown becomes this while Gripbook is built, so that the screens parse no
 * markup. What the handbook has no use for (HTML, addresses outside, pictures without words) throws, with the chapter and the place.
 */
import { lexer, type Token, type Tokens } from "marked";

/** Elements that a chapter may have; the screens and the site know how to show each of them, and no other. */
export type HandbookTag = "h2" | "h3" | "p" | "ul" | "ol" | "li" | "table" | "thead" | "tbody" | "tr" | "th" | "td" | "b" | "em" | "code";

interface HandbookElement {
  readonly tag: HandbookTag;
  readonly children: readonly HandbookPiece[];
}
/** A link to another chapter, by its name. */
interface HandbookLink {
  readonly chapter: string;
  readonly words: string;
}
/** A picture by its file name in `pictures`, with what is to be seen in it. */
interface HandbookPicture {
  readonly picture: string;
  readonly words: string;
}
export type HandbookPiece = string | HandbookElement | HandbookLink | HandbookPicture;

export interface HandbookChapter {
  /** Of its file, without the ending. */
  readonly name: string;
  readonly title: string;
  readonly pieces: readonly HandbookPiece[];
}

const PICTURE = /^pictures\/([a-z0-9-]+\.png)$/;
const CHAPTER = /^([a-z0-9-]+)\.md$/;

function refuse(where: string, token: Token, why: string): never {
  throw new Error(`docs/handbook/${where}.md: ${why}: ${JSON.stringify(token.raw.trim().slice(0, 80))}`);
}

/** Entities that `marked` leaves as they were written. */
const plain = (text: string) =>
  text.replaceAll("&lt;", "<").replaceAll("&gt;", ">").replaceAll("&quot;", '"').replaceAll("&#39;", "'").replaceAll("&amp;", "&");

const made = (tag: HandbookTag, children: readonly HandbookPiece[]): HandbookElement => ({ tag, children });

/** The text of inline tokens, where only text makes sense. */
const wordsOf = (tokens: readonly Token[]): string =>
  tokens
    .map((token) => ("tokens" in token && token.tokens !== undefined ? wordsOf(token.tokens) : plain((token as Tokens.Text).text)))
    .join("");

function inline(where: string, tokens: readonly Token[] = []): HandbookPiece[] {
  return tokens.flatMap((token): HandbookPiece[] => {
    switch (token.type) {
      case "text":
        return token.tokens === undefined ? [plain(token.text)] : inline(where, token.tokens);
      case "escape":
        return [plain(token.text)];
      case "strong":
        return [made("b", inline(where, token.tokens))];
      case "em":
        return [made("em", inline(where, token.tokens))];
      case "codespan":
        return [made("code", [plain(token.text)])];
      case "checkbox":
      case "br":
        return refuse(where, token, "write plain paragraphs and lists");
      case "link": {
        const chapter = CHAPTER.exec(token.href)?.[1];
        if (chapter === undefined)
          return refuse(where, token, "a link leads to another chapter (name.md), as the handbook is read offline");
        return [{ chapter, words: wordsOf(token.tokens ?? []) }];
      }
      case "image": {
        const picture = PICTURE.exec(token.href)?.[1];
        if (picture === undefined || token.text === "")
          return refuse(where, token, "a picture is ![what is to be seen](pictures/name.png)");
        return [{ picture, words: plain(token.text) }];
      }
      default:
        return refuse(where, token, `the handbook has no use for ${token.type}`);
    }
  });
}

function tableOf(where: string, token: Tokens.Table): HandbookElement {
  const row = (cells: readonly Tokens.TableCell[], tag: "th" | "td") =>
    made(
      "tr",
      cells.map((cell) => made(tag, inline(where, cell.tokens))),
    );
  return made("table", [
    made("thead", [row(token.header, "th")]),
    made(
      "tbody",
      token.rows.map((cells) => row(cells, "td")),
    ),
  ]);
}

function blocks(where: string, tokens: readonly Token[]): HandbookPiece[] {
  return tokens.flatMap((token): HandbookPiece[] => {
    switch (token.type) {
      case "space":
        return [];
      case "heading":
        if (token.depth !== 2 && token.depth !== 3) return refuse(where, token, "after the title, headings are ## or ###");
        return [made(token.depth === 2 ? "h2" : "h3", inline(where, token.tokens))];
      case "paragraph": {
        const pieces = inline(where, token.tokens);
        // A picture by itself is no sentence.
        return pieces.length === 1 && typeof pieces[0] === "object" && "picture" in pieces[0] ? pieces : [made("p", pieces)];
      }
      case "text":
        return inline(where, [token]);
      case "list":
        return [
          made(
            token.ordered === true ? "ol" : "ul",
            (token as Tokens.List).items.map((item) => made("li", blocks(where, item.tokens))),
          ),
        ];
      case "table":
        return [tableOf(where, token as Tokens.Table)];
      default:
        return refuse(where, token, `the handbook has no use for ${token.type}`);
    }
  });
}

/** `name` is that of the file, without the ending. */
export function handbookChapter(name: string, markdown: string): HandbookChapter {
  const tokens = lexer(markdown);
  const at = tokens.findIndex((token) => token.type !== "space");
  const first = tokens[at];
  if (first?.type !== "heading" || first.depth !== 1) throw new Error(`docs/handbook/${name}.md: begin with its title, "# Title"`);
  return { name, title: wordsOf(first.tokens ?? []), pieces: blocks(name, tokens.slice(at + 1)) };
}
