"""What runs and studies leave behind for measures, figures and reports: plain records, no computation."""
