"""What starting a bench folder says."""

NOT_EMPTY = "{folder} holds {name} already, and nothing was written; choose a new folder, or open the bench that is there."
