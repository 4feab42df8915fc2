//! Several impressions and few hands: which to pour first.
