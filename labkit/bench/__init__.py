"""The bench: meter cards, the record, and a virtual bench that writes one."""
