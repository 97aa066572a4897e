"""Split a race into groups that race one after the other, and draw a rotation for each of them."""
