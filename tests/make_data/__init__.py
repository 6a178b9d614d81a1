"""What makes the shipped records: invented parts on the virtual bench, from stated seeds."""
