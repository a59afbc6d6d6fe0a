"""What can we sell: parts, services, workloads and terms, read once and immutable after."""
