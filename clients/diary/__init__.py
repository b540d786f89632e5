"""The diary: hours, free times, and the layout of a day and a week."""
