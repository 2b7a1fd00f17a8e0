"""The drive under torque: flexible ring, teeth, generator and rigid rings in equilibrium. See docs/theory/loaded_ring.md."""
