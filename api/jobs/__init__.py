"""Long requests kept as jobs: submitted, asked after, answered later, cancelled."""
