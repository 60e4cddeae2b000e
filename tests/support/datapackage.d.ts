/** The part of the Frictionless validator that the tests use. */
declare module 'datapackage' {
  interface Resource {
    readonly name: string;
    readonly valid: boolean;
    readonly errors: readonly Error[];
    /** Casts every cell to its field's type and checks keys; rejects at the first that is wrong. */
    read(options: { keyed: true; relations: boolean }): Promise<Record<string, unknown>[]>;
  }
  export class Package {
    static load(file: string, options: { basePath: string; strict: boolean }): Promise<Package>;
    readonly valid: boolean;
    readonly errors: readonly Error[];
    readonly resources: readonly Resource[];
  }
}
