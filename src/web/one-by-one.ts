/**
 * Makes a function that runs what it is given one after the other, in the order it came; what fails does not
 * keep back what comes after it.
 * @param mostWaiting what comes when so many wait already is refused with the error it brings along
 */
export function oneByOne(
  mostWaiting: number,
): <T>(work: () => Promise<T>, refuse: () => Error) => Promise<T> {
  let last: Promise<unknown> = Promise.resolve();
  let waiting = 0;
  return async (work, refuse) => {
    if (waiting > mostWaiting) throw refuse();
    waiting++;
    const result = last.then(work).finally(() => {
      waiting--;
    });
    last = result.catch(() => {});
    return result;
  };
}
