"""Every sentence a person reads, one file a theme. Constants carry `{named}` fields for `str.format`."""
