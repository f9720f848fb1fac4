UPDATE message SET attachment_kind = NULL, attachment_id = NULL WHERE attachment_kind IN ('refund_slip', 'part_credit');
ALTER TABLE message DROP CONSTRAINT message_attachment_kind_check;
ALTER TABLE message ADD CONSTRAINT message_attachment_kind_check CHECK (attachment_kind IN ('invoice', 'receipt', 'credit_note', 'packet'));
DROP TABLE refund_slip;
DROP TABLE invoice_change;
DROP TABLE payment_pair;
DROP TABLE ledger_line;
DROP TABLE ledger_entry;
DROP FUNCTION ledger_is_append_only();
