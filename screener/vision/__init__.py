"""Photos to observations: safe decoding, scale card, rings, face, marking, label. Never decides."""
