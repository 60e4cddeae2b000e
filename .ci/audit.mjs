/**
 * What the registry knows against the packages that Pottag runs with. Prints it, and fails the build for what is
 * grave; a registry that does not answer is said to and fails nothing.
 */
import { spawnSync } from 'node:child_process';

const { stdout } = spawnSync('npm', ['audit', '--omit=dev', '--json'], { encoding: 'utf8' });

function parsed(text) {
  try {
    return JSON.parse(text);
  } catch {
    return {};
  }
}

const { metadata, vulnerabilities = {}, message = 'no answer' } = parsed(stdout);
if (metadata?.vulnerabilities === undefined) {
  console.log(`npm audit: not available (${message})`);
} else {
  const { total, high, critical } = metadata.vulnerabilities;
  console.log(`npm audit: ${total} known, ${high} high, ${critical} critical`);
  for (const { name, severity, range } of Object.values(vulnerabilities))
    console.log(`  ${name} ${range}: ${severity}`);
  process.exitCode = high + critical > 0 ? 1 : 0;
}
