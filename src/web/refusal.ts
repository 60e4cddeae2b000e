/** Refusals, as the page is told them: stable code, what was wrong, what to do. */

export interface RefusalBody {
  readonly error: { readonly code: string; readonly message: string; readonly hint: string };
}

export function refusal(status: number, code: string, message: string, hint: string): Response {
  const body: RefusalBody = { error: { code, message, hint } };
  return Response.json(body, { status });
}
