"""One photo read whole: codes, parts and label together, as ``screener look`` prints it."""
