"""An invented trade of any size: `plan` lays out who shares which interface, `engines` and `gearboxes` state their
parts, `writer` writes facts, `command` is the command line. Seeded: the same size and seed give the same files."""
