/** The package has no declarations. */
declare module 'pgpass' {
  interface Asking {
    readonly host: string;
    readonly port: number;
    readonly database?: string | undefined;
    readonly user?: string | undefined;
  }
  /** Calls back with the password that the file holds for this connection; undefined if it holds none. */
  export default function pgPass(asking: Asking, callback: (password: string | undefined) => void): void;
}
