"""The bench: events, the record file, meter cards, and a virtual bench that writes one."""
