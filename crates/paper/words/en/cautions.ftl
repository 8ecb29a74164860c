## Cautions. What stands here is said by any workshop; its letterhead can add to it.

cautions = Cautions
caution-mains = Mains voltage. Disconnect the machine from the supply, secure it against being switched on again and verify that it is dead before the cabinet is opened. Only qualified electricians may remove, refit or test the unit.
caution-charge = Stored charge. Capacitors remain dangerously charged after disconnection. Wait for the discharge time stated on the unit and measure before touching anything.
caution-start = Unexpected start. A machine may start by itself when its controller is powered up again. Keep everybody out of the danger zone until start‑up is complete.
caution-safety = Safety functions. After refitting, the safety functions of the whole machine have to be validated and recorded by those responsible for it (ISO 13849-2). The test at the workshop’s bench does not replace this.
caution-static = Static. Circuit boards are sensitive to electrostatic discharge: work at an earthed place with a wrist strap, and transport them only in shielding bags.
