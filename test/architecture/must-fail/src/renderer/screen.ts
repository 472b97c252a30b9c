export { book } from "../main/book.ts";
