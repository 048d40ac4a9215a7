"""What a sounding is: quantities, units, series, equipment, events, findings, decisions. No I/O."""
