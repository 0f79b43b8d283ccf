//! Values with unit, tolerance and source: reading, printing, and the arithmetic of uncertainty.
