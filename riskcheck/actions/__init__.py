"""Who to call: reason codes and figures, no wording."""
