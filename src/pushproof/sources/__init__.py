"""Where readings come from: serial, network, replay and the rehearsal rig."""
