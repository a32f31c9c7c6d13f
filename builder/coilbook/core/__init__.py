"""The ground, the same at the command line and on a page: pure, scalar, printed as scripts."""
