// What the form offers. The workshop hands its codes to its partners with the tariff; these are of the demo
// world. Any other code can be typed.

export const FAMILIES: [code: string, text: string][] = [
  ["MIX-SP4", "Spiral mixer controller, four drive channels"],
  ["OVEN-D12", "Deck oven controller, twelve heating zones"],
  ["CONV-B2", "Conveyor controller, two belt drives"],
  ["DIV-R8", "Divider and rounder controller, eight axes"],
  ["PROOF-C6", "Proofer climate controller, six circuits"],
];

export const FINDINGS: [code: string, text: string][] = [
  ["DRV-SHORT", "Drive stage short-circuited"],
  ["DRV-GATE", "Gate driver gives uneven pulses"],
  ["BRAKE-DEAD", "Brake chopper without function"],
  ["REC-OPEN", "Input rectifier open in one phase"],
  ["EMI-BURNT", "Mains filter burnt"],
  ["BUS-CAP", "Bus capacitor bulged or leaking"],
  ["CUR-DRIFT", "Current reading drifts"],
  ["RELAY-STUCK", "Relay contacts stuck"],
  ["RELAY-SAFE", "Safety relay does not open both channels"],
  ["CONTACTOR", "Contactor hums or sticks"],
  ["FAN-STALL", "Fan stalls or grinds"],
  ["FUSE-BLOWN", "Fuses blown on the control side"],
];

/** What the bench found in the demo job. */
export const FOUND: [code: string, position: string][] = [
  ["DRV-SHORT", "V12"],
  ["DRV-GATE", "GD2"],
  ["BUS-CAP", "C2"],
  ["FAN-STALL", "M1"],
  ["RELAY-SAFE", "KS1"],
];
