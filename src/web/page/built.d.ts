/** What the build puts in place. */
declare const DECODER_URL: string;
declare const PAGE_FILES: readonly string[];
declare const PAGE_VERSION: string;

/** A file beside the page: its URL. */
declare module '*.wasm' {
  const url: string;
  export default url;
}
