"""What do people read: charts, pages, bench sheets and batches, each rendered from a record."""
