/**
 * Makes a function that runs what it is given one after the other, in the order it came; what fails does not
 * keep back what comes after it.
 */
export function oneByOne(): <T>(work: () => Promise<T>) => Promise<T> {
  let last: Promise<unknown> = Promise.resolve();
  return (work) => {
    const result = last.then(work);
    last = result.catch(() => {});
    return result;
  };
}
