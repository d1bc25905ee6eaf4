"""Pictures for a page: cut to their subject, their tones brought to what a panel can show, and captioned."""
