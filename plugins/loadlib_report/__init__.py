"""One page to look at: what a load profile says, with pictures, tables and sources."""
