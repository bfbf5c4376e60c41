"""What was seen, advised and done, kept in a database, each record chained to the one before."""
