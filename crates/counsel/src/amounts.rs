//! Water, powder, cartridges, stone and waits: exact amounts and their inverses.
