"""What a bench can do with a specimen: levels, limits, strobe, sweep, sensors, the run sheet."""
