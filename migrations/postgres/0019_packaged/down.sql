DROP TABLE packaged_weight;
