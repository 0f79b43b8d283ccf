//! What a first visitor sees.

/// Greeting with three commands worth knowing.
pub(crate) const TEXT: &str = "\
Swapstand: one bike, one proposed change. Does it fit, what does it do, how sure is that?

  swapstand try BUILD --set fork=PART    try a swap and read the answer
  swapstand check BUILD                  put a bike on the stand as it is
  swapstand parts BUILD --kind fork      look in its catalogue

A bike is a TOML file; demo/heron.toml is one to begin with:

  swapstand try demo/heron.toml --set fork=tarn-150 --sheet heron.html

`swapstand help` and `swapstand COMMAND --help` tell the rest.
";
