"""One house: a pure ground floor, the record on the first floor, the doors on top."""
