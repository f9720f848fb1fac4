//! The tables of the book, written by hand and held against both migrated databases by a test.
//!
//! Money is whole cents, rates ten-thousandths of a dollar, weights hundredths of the farm's unit, instants milliseconds
//! since 1970 in UTC; a `date` is a calendar day on the farm. Only types that SQLite and PostgreSQL share are used.
#![allow(missing_docs, reason = "the columns' meaning is written in the migrations, beside their checks")]

diesel::table! {
    /// The farm and its settings: one row. Terms: 'days' = due terms_days after issue, 'pickup' = before pickup. split_basis: 'as_hung' or 'even' as in trade::carcass.
    farm (id) {
        id -> BigInt,
        name -> Text,
        contact_name -> Text,
        address -> Text,
        phone -> Text,
        mail -> Text,
        unit -> Text,
        paper -> Text,
        time_zone -> Text,
        payee -> Text,
        pay_address -> Text,
        pay_words -> Text,
        terms -> Text,
        terms_days -> BigInt,
        deposit_policy -> Text,
        split_basis -> Text,
        offer_days -> BigInt,
        set_up_at -> Nullable<BigInt>,
        is_demo -> Bool,
        version -> BigInt,
        sheet_reminders -> Text,
        sheets_standard -> Bool,
        open_custom_from -> BigInt,
        requests -> Text,
        deposit_days -> BigInt,
    }
}

diesel::table! {
    /// People who sign in. mail is stored folded to lower case.
    account (id) {
        id -> BigInt,
        mail -> Text,
        name -> Text,
        password_hash -> Text,
        role -> Text,
        created_at -> BigInt,
        disabled_at -> Nullable<BigInt>,
        totp_secret -> Nullable<Text>,
        totp_since -> Nullable<BigInt>,
        totp_step -> BigInt,
    }
}

diesel::table! {
    /// Signed-in browsers. id_hash is the SHA-256 of the cookie's random id; form_secret keys that browser's one-use form keys.
    session (id_hash) {
        id_hash -> Text,
        account_id -> BigInt,
        form_secret -> Text,
        created_at -> BigInt,
        last_seen_at -> BigInt,
        ends_at -> BigInt,
        browser -> Text,
        awaits_code -> Bool,
    }
}

diesel::table! {
    /// Codes that stand in for a lost phone, each good once.
    recovery_code (code_hash) {
        code_hash -> Text,
        account_id -> BigInt,
        made_at -> BigInt,
        used_at -> Nullable<BigInt>,
    }
}

diesel::table! {
    /// Links with which a person chooses a password; good once.
    password_link (token_hash) {
        token_hash -> Text,
        account_id -> BigInt,
        made_at -> BigInt,
        ends_at -> BigInt,
        used_at -> Nullable<BigInt>,
    }
}

diesel::table! {
    /// The link printed at the first start that makes the first account; good once.
    setup_link (token_hash) {
        token_hash -> Text,
        made_at -> BigInt,
        ends_at -> BigInt,
        used_at -> Nullable<BigInt>,
    }
}

diesel::table! {
    /// One-use form keys already used, with where the first use led.
    used_form_key (form_key) {
        form_key -> Text,
        used_at -> BigInt,
        location -> Text,
    }
}

diesel::table! {
    /// Gap-free numbers: one row per series and year, counted up in the transaction that uses the number.
    counter (name) {
        name -> Text,
        value -> BigInt,
    }
}

diesel::table! {
    /// Customers. search is name, mail and phone folded for finding.
    customer (id) {
        id -> BigInt,
        name -> Text,
        mail -> Text,
        phone -> Text,
        address -> Text,
        notes -> Text,
        search -> Text,
        created_at -> BigInt,
        version -> BigInt,
        no_offers -> Bool,
    }
}

diesel::table! {
    /// What the farm has for sale. expected_* are hanging weights per head. quarter_part: how quarters of it are divided.
    offering (id) {
        id -> BigInt,
        species -> Text,
        season -> Text,
        head_count -> BigInt,
        sells_whole -> Bool,
        sells_half -> Bool,
        sells_quarter -> Bool,
        quarter_part -> Text,
        expected_low -> Nullable<BigInt>,
        expected_high -> Nullable<BigInt>,
        notes -> Text,
        closed_at -> Nullable<BigInt>,
        created_at -> BigInt,
        version -> BigInt,
    }
}

diesel::table! {
    /// Price list: the row with the latest effective_from not after the day holds; same day: the latest id. Never updated. basis 'flat' uses flat_price, the others rate.
    price (id) {
        id -> BigInt,
        offering_id -> BigInt,
        size -> Text,
        effective_from -> Date,
        basis -> Text,
        rate -> Nullable<BigInt>,
        flat_price -> Nullable<BigInt>,
        deposit -> BigInt,
        created_at -> BigInt,
    }
}

diesel::table! {
    /// Plants.
    processor (id) {
        id -> BigInt,
        name -> Text,
        address -> Text,
        phone -> Text,
        mail -> Text,
        inspection -> Text,
        days_notice -> BigInt,
        notes -> Text,
        retired_at -> Nullable<BigInt>,
        created_at -> BigInt,
        version -> BigInt,
    }
}

diesel::table! {
    /// A plant's schedule of charges. species and size empty = for all. per head and its minima are for a whole head.
    processor_charge (id) {
        id -> BigInt,
        processor_id -> BigInt,
        name -> Text,
        species -> Nullable<Text>,
        size -> Nullable<Text>,
        per -> Text,
        rate -> BigInt,
        minimum_quantity -> Nullable<BigInt>,
        minimum_amount -> Nullable<BigInt>,
        billed_by -> Text,
        tax_percent -> BigInt,
        position -> BigInt,
        retired_at -> Nullable<BigInt>,
        service -> Nullable<Text>,
    }
}

diesel::table! {
    /// What a processor leaves out of a species' cuts, as JSON (trade::cuts::offer). No row: it does everything.
    processor_offer (processor_id, species) {
        processor_id -> BigInt,
        species -> Text,
        document -> Text,
        changed_at -> BigInt,
        version -> BigInt,
    }
}

diesel::table! {
    /// Booked days at a plant.
    processing_date (id) {
        id -> BigInt,
        processor_id -> BigInt,
        kill_on -> Date,
        deliver_on -> Nullable<Date>,
        deliver_time -> Text,
        sheets_due -> Nullable<Date>,
        pickup_from -> Nullable<Date>,
        pickup_to -> Nullable<Date>,
        notes -> Text,
        cancelled_at -> Nullable<BigInt>,
        created_at -> BigInt,
        version -> BigInt,
        no_reminders -> Bool,
        sheets_open -> Bool,
        plant_reference -> Text,
    }
}

diesel::table! {
    /// Head slots booked for a date, by species.
    date_slot (date_id, species) {
        date_id -> BigInt,
        species -> Text,
        head -> BigInt,
    }
}

diesel::table! {
    /// One head. birth_precision 'exact', 'month' or 'unknown'. lost_on: died or was taken out before its date.
    animal (id) {
        id -> BigInt,
        tag -> Text,
        species -> Text,
        class -> Text,
        sex -> Text,
        birth_on -> Nullable<Date>,
        birth_precision -> Text,
        breed -> Text,
        official_id -> Text,
        notes -> Text,
        date_id -> Nullable<BigInt>,
        lost_on -> Nullable<Date>,
        lost_reason -> Text,
        created_at -> BigInt,
        version -> BigInt,
    }
}

diesel::table! {
    /// Live weights. girth and length in hundredths of an inch (farm in lb) or centimetre (farm in kg).
    live_weight (id) {
        id -> BigInt,
        animal_id -> BigInt,
        weighed_on -> Date,
        weight -> BigInt,
        method -> Text,
        girth -> Nullable<BigInt>,
        length -> Nullable<BigInt>,
        created_at -> BigInt,
    }
}

diesel::table! {
    /// Drug treatments. last_dose_time 'HH:MM' or empty when not known; counted in whole days of 24 hours from the last dose.
    treatment (id) {
        id -> BigInt,
        animal_id -> BigInt,
        product -> Text,
        last_dose_on -> Date,
        last_dose_time -> Text,
        withdrawal_days -> BigInt,
        notes -> Text,
        created_at -> BigInt,
    }
}

diesel::table! {
    /// One customer's claim on one share. The price fields are locked when it is taken and never change. waiting_since: on the waiting list.
    reservation (id) {
        id -> BigInt,
        number -> Text,
        customer_id -> BigInt,
        offering_id -> BigInt,
        size -> Text,
        part -> Nullable<Text>,
        taken_at -> BigInt,
        price_basis -> Text,
        rate -> Nullable<BigInt>,
        flat_price -> Nullable<BigInt>,
        deposit_asked -> BigInt,
        price_locked_on -> Date,
        wishes -> Text,
        preferred_date_id -> Nullable<BigInt>,
        waiting_since -> Nullable<BigInt>,
        cancelled_at -> Nullable<BigInt>,
        cancel_reason -> Text,
        cancel_deposit -> Nullable<Text>,
        collected_at -> Nullable<BigInt>,
        version -> BigInt,
    }
}

diesel::table! {
    /// Which quarters of which animal a reservation has. slot: l1, l2, r1, r2; for fore and hind quarters 1 is fore, 2 is hind.
    placement (animal_id, slot) {
        animal_id -> BigInt,
        slot -> Text,
        reservation_id -> BigInt,
    }
}

diesel::table! {
    /// Whose shares had a place on an animal that was lost or condemned, and whether they were told.
    lost_share (animal_id, reservation_id) {
        animal_id -> BigInt,
        reservation_id -> BigInt,
        lost_at -> BigInt,
        told_at -> Nullable<BigInt>,
    }
}

diesel::table! {
    /// Hanging weights the processor reported. Exactly one way of weighing is filled in; condemned 'whole' has none.
    weigh_in (animal_id) {
        animal_id -> BigInt,
        weighed_on -> Date,
        basis -> Text,
        head_on -> Bool,
        skin_on -> Bool,
        total -> Nullable<BigInt>,
        left_side -> Nullable<BigInt>,
        right_side -> Nullable<BigInt>,
        left_fore -> Nullable<BigInt>,
        left_hind -> Nullable<BigInt>,
        right_fore -> Nullable<BigInt>,
        right_hind -> Nullable<BigInt>,
        carcass_number -> Text,
        condemned -> Text,
        condemned_note -> Text,
        doubtful_confirmed -> Bool,
        recorded_at -> BigInt,
        version -> BigInt,
    }
}

diesel::table! {
    /// Free lines of an order: delivery, discount. Taken over into the invoice when it is issued.
    order_charge (id) {
        id -> BigInt,
        reservation_id -> BigInt,
        name -> Text,
        amount -> BigInt,
        tax_percent -> BigInt,
        created_at -> BigInt,
    }
}

diesel::table! {
    /// Weight of product made for an order (patties, sausage, smoked), for charges per unit of product.
    order_product (reservation_id, charge_id) {
        reservation_id -> BigInt,
        charge_id -> BigInt,
        quantity -> BigInt,
    }
}

diesel::table! {
    /// Money received from (amount > 0, kind 'received') or given back to (kind 'refund', amount > 0) a customer. Never changed.
    payment (id) {
        id -> BigInt,
        customer_id -> BigInt,
        kind -> Text,
        method -> Text,
        amount -> BigInt,
        received_on -> Date,
        reference -> Text,
        note -> Text,
        recorded_at -> BigInt,
    }
}

diesel::table! {
    /// Numbered receipts; document is the paper's content, frozen.
    receipt (id) {
        id -> BigInt,
        number -> Text,
        payment_id -> BigInt,
        made_on -> Date,
        document -> Text,
    }
}

diesel::table! {
    /// Issued invoices: never changed. document is the paper's content, frozen; its PDF can be made again byte for byte. due_on empty = before pickup.
    invoice (id) {
        id -> BigInt,
        number -> Text,
        reservation_id -> BigInt,
        customer_id -> BigInt,
        issued_on -> Date,
        due_on -> Nullable<Date>,
        farm_total -> BigInt,
        farm_tax -> BigInt,
        processor_total -> BigInt,
        processor_tax -> BigInt,
        balance_due -> BigInt,
        billed_weight -> Nullable<BigInt>,
        document -> Text,
        issued_at -> BigInt,
    }
}

diesel::table! {
    /// The lines of an issued invoice, farm-billed and processor-billed.
    invoice_line (invoice_id, position) {
        invoice_id -> BigInt,
        position -> BigInt,
        kind -> Text,
        name -> Text,
        amount -> BigInt,
        tax -> BigInt,
        billed_by -> Text,
        charge_id -> Nullable<BigInt>,
    }
}

diesel::table! {
    /// Credit notes: each voids one invoice in full.
    credit_note (id) {
        id -> BigInt,
        number -> Text,
        invoice_id -> BigInt,
        issued_on -> Date,
        amount -> BigInt,
        reason -> Text,
        document -> Text,
        issued_at -> BigInt,
    }
}

diesel::table! {
    /// What a payment is for: a deposit on a reservation, or an invoice. Signed and append-only; a move is a minus and a plus. What is not allocated is the customer's credit.
    allocation (id) {
        id -> BigInt,
        payment_id -> BigInt,
        reservation_id -> Nullable<BigInt>,
        invoice_id -> Nullable<BigInt>,
        amount -> BigInt,
        made_at -> BigInt,
    }
}

diesel::table! {
    /// The outbox. channel 'mail', 'text' or 'letter'. attachment: kind and id of the paper ('invoice', 'receipt', 'credit_note', 'packet'), made again when sent. What became of it is told by the *_at columns.
    message (id) {
        id -> BigInt,
        customer_id -> Nullable<BigInt>,
        reservation_id -> Nullable<BigInt>,
        purpose -> Text,
        channel -> Text,
        to_name -> Text,
        to_address -> Text,
        subject -> Text,
        body -> Text,
        attachment_kind -> Nullable<Text>,
        attachment_id -> Nullable<BigInt>,
        message_id -> Text,
        queued_at -> BigInt,
        next_try_at -> Nullable<BigInt>,
        tries -> BigInt,
        last_error -> Nullable<Text>,
        sent_at -> Nullable<BigInt>,
        failed_at -> Nullable<BigInt>,
        handed_over_at -> Nullable<BigInt>,
        version -> BigInt,
    }
}

diesel::table! {
    /// Message wordings the farmer changed; a missing row means the default.
    message_template (purpose) {
        purpose -> Text,
        subject -> Text,
        body -> Text,
        short -> Text,
        version -> BigInt,
    }
}

diesel::table! {
    /// What happened, in sentences, oldest first; append-only. actor is the account's name or 'Gambrel'.
    story (id) {
        id -> BigInt,
        at -> BigInt,
        actor -> Text,
        line -> Text,
        detail -> Text,
        customer_id -> Nullable<BigInt>,
        reservation_id -> Nullable<BigInt>,
        animal_id -> Nullable<BigInt>,
        date_id -> Nullable<BigInt>,
        invoice_id -> Nullable<BigInt>,
    }
}

diesel::table! {
    /// One share's cutting instructions. sheet: what was chosen, as JSON; special: a wish in words. revision counts changes.
    cut_sheet (reservation_id) {
        reservation_id -> BigInt,
        sheet -> Text,
        special -> Text,
        origin -> Text,
        revision -> BigInt,
        entered_at -> BigInt,
        version -> BigInt,
    }
}

diesel::table! {
    /// What was made for the processor of a date: the document, frozen. Numbered from 1 for each date. sent_at: without it, a draft.
    packet (id) {
        id -> BigInt,
        date_id -> BigInt,
        number -> BigInt,
        document -> Text,
        made_at -> BigInt,
        sent_at -> Nullable<BigInt>,
        sent_by -> Text,
    }
}

diesel::table! {
    /// Which revision of whose sheet stands in a packet.
    packet_sheet (packet_id, reservation_id) {
        packet_id -> BigInt,
        reservation_id -> BigInt,
        revision -> BigInt,
    }
}

diesel::table! {
    /// A cut sheet that its customer has not sent yet.
    sheet_draft (reservation_id) {
        reservation_id -> BigInt,
        sheet -> Text,
        special -> Text,
        step -> Text,
        looked -> Text,
        began_with -> BigInt,
        changed_at -> BigInt,
        version -> BigInt,
    }
}

diesel::table! {
    /// Who was reminded of a missing cut sheet, for which day before the deadline; once each. message_id: what was written.
    sheet_reminder (reservation_id, date_id, days) {
        reservation_id -> BigInt,
        date_id -> BigInt,
        days -> BigInt,
        made_at -> BigInt,
        message_id -> Nullable<BigInt>,
    }
}

diesel::table! {
    /// What a customer wants changed after the sheets of a date were closed. sheet and special as in cut_sheet.
    sheet_request (id) {
        id -> BigInt,
        reservation_id -> BigInt,
        sheet -> Text,
        special -> Text,
        asked_at -> BigInt,
        decided_at -> Nullable<BigInt>,
        decision -> Nullable<Text>,
        note -> Text,
    }
}

diesel::table! {
    /// What was offered to somebody on the waiting list, held for them until the end of the day answer_by.
    waiting_offer (id) {
        id -> BigInt,
        reservation_id -> BigInt,
        offering_id -> BigInt,
        words -> Text,
        offered_at -> BigInt,
        answer_by -> Date,
        outcome -> Nullable<Text>,
        closed_at -> Nullable<BigInt>,
    }
}

diesel::table! {
    /// What an order asks of the planner beside its first choice of date. only_these: no other date suits. weights: hanging, of the share.
    share_wish (reservation_id) {
        reservation_id -> BigInt,
        only_these -> Bool,
        together -> Text,
        weight_low -> Nullable<BigInt>,
        weight_high -> Nullable<BigInt>,
    }
}

diesel::table! {
    /// Second and later choices of date, in order.
    later_choice (reservation_id, place) {
        reservation_id -> BigInt,
        place -> BigInt,
        date_id -> BigInt,
    }
}

diesel::table! {
    /// Shares that stay where they are, whatever is planned.
    place_lock (reservation_id) {
        reservation_id -> BigInt,
        animal_id -> BigInt,
        locked_at -> BigInt,
    }
}

diesel::table! {
    /// Plans that were taken, whole or in part; undoes: the acceptance that this one took back.
    plan_acceptance (id) {
        id -> BigInt,
        accepted_at -> BigInt,
        accepted_by -> Text,
        undoes -> Nullable<BigInt>,
    }
}

diesel::table! {
    /// What moved by an acceptance. sides 'left', 'right', 'both'; the date is the one the animal had then.
    plan_move (acceptance_id, reservation_id) {
        acceptance_id -> BigInt,
        reservation_id -> BigInt,
        from_animal_id -> Nullable<BigInt>,
        from_sides -> Nullable<Text>,
        from_date_id -> Nullable<BigInt>,
        to_animal_id -> Nullable<BigInt>,
        to_sides -> Nullable<Text>,
        to_date_id -> Nullable<BigInt>,
        told_at -> Nullable<BigInt>,
    }
}

diesel::table! {
    /// What the farm decided where two quarters of one side wish otherwise; it holds only while both sheets have these revisions.
    side_decision (animal_id, side, block) {
        animal_id -> BigInt,
        side -> Text,
        block -> Text,
        decision -> Text,
        first_id -> BigInt,
        first_revision -> BigInt,
        second_id -> BigInt,
        second_revision -> BigInt,
        decided_at -> BigInt,
        decided_by -> Text,
    }
}

diesel::table! {
    /// Lists on their way into the book, kept for a day. kind: customers, offerings, animals, reservations, payments.
    import_file (id) {
        id -> BigInt,
        kind -> Text,
        name -> Text,
        content -> Text,
        made_at -> BigInt,
    }
}

diesel::table! {
    /// Which heading of lists of a kind means what, as JSON.
    import_columns (kind) {
        kind -> Text,
        document -> Text,
        changed_at -> BigInt,
    }
}

diesel::table! {
    /// Files that were taken, known again by the SHA-256 of their decoded text.
    import_taken (kind, digest) {
        kind -> Text,
        digest -> Text,
        name -> Text,
        made -> BigInt,
        taken_by -> Text,
        taken_at -> BigInt,
    }
}

diesel::table! {
    /// Private links of processors, each to one date. token_hash is the SHA-256 of the token.
    plant_link (id) {
        id -> BigInt,
        date_id -> BigInt,
        token_hash -> Text,
        made_at -> BigInt,
        made_for -> Text,
        last_used_at -> Nullable<BigInt>,
        revoked_at -> Nullable<BigInt>,
    }
}

diesel::table! {
    /// Browsers that opened a private link of a processor. id_hash is the SHA-256 of the cookie's random id; form_secret keys that browser's one-use form keys.
    plant_session (id_hash) {
        id_hash -> Text,
        link_id -> BigInt,
        name -> Text,
        form_secret -> Text,
        made_at -> BigInt,
        last_seen_at -> BigInt,
        ends_at -> BigInt,
    }
}

diesel::table! {
    /// That a processor said a packet came, and who said so.
    packet_receipt (packet_id) {
        packet_id -> BigInt,
        received_by -> Text,
        received_at -> BigInt,
    }
}

diesel::table! {
    /// What a processor entered on its page, in revisions, as JSON, and what the farm answered.
    plant_entry (id) {
        id -> BigInt,
        date_id -> BigInt,
        kind -> Text,
        animal_id -> Nullable<BigInt>,
        reservation_id -> Nullable<BigInt>,
        revision -> BigInt,
        document -> Text,
        entered_by -> Text,
        entered_at -> BigInt,
        told_at -> Nullable<BigInt>,
        answer -> Nullable<Text>,
        answered_by -> Text,
        answered_at -> Nullable<BigInt>,
        words -> Text,
    }
}

diesel::table! {
    /// A processor's file of weights that waits to be looked over, for a day.
    weight_file (id) {
        id -> BigInt,
        date_id -> BigInt,
        name -> Text,
        content -> Text,
        made_at -> BigInt,
    }
}

diesel::table! {
    /// Files of weights that were taken, known again by the SHA-256 of their text.
    weight_file_taken (date_id, digest) {
        date_id -> BigInt,
        digest -> Text,
        name -> Text,
        head -> BigInt,
        taken_by -> Text,
        taken_at -> BigInt,
    }
}

diesel::table! {
    /// Which column of a processor's file is which, as it was matched last.
    processor_columns (processor_id) {
        processor_id -> BigInt,
        document -> Text,
        changed_at -> BigInt,
    }
}

diesel::table! {
    /// What an animal or a lot cost the farm.
    cost (id) {
        id -> BigInt,
        kind -> Text,
        on_day -> Date,
        words -> Text,
        amount -> BigInt,
        shared_by -> Text,
        made_at -> BigInt,
        taken_back_at -> Nullable<BigInt>,
        version -> BigInt,
    }
}

diesel::table! {
    /// The animals a cost is of.
    cost_head (cost_id, animal_id) {
        cost_id -> BigInt,
        animal_id -> BigInt,
    }
}

diesel::table! {
    /// The words of the farm's bill of sale: one row or none.
    bill_of_sale_text (id) {
        id -> BigInt,
        body -> Text,
        version -> BigInt,
    }
}

diesel::table! {
    /// Bills of sale as they were made.
    bill_of_sale (id) {
        id -> BigInt,
        reservation_id -> BigInt,
        customer_id -> BigInt,
        animal_id -> BigInt,
        made_on -> Date,
        kill_on -> Nullable<Date>,
        document -> Text,
        made_at -> BigInt,
    }
}

diesel::table! {
    /// When Gambrel reminds of balances by itself, and interest: one row or none.
    balance_rule (id) {
        id -> BigInt,
        friendly_after -> Nullable<BigInt>,
        firm_after -> Nullable<BigInt>,
        interest -> Nullable<BigInt>,
        version -> BigInt,
    }
}

diesel::table! {
    /// Customers who get no reminder of a balance by itself.
    balance_stop (customer_id) {
        customer_id -> BigInt,
        reason -> Text,
        stopped_at -> BigInt,
    }
}

diesel::table! {
    /// Letters about an overdue balance that were written.
    balance_letter (id) {
        id -> BigInt,
        invoice_id -> BigInt,
        tone -> Text,
        message_id -> BigInt,
        by_itself -> Bool,
        written_on -> Date,
        made_at -> BigInt,
    }
}

diesel::table! {
    /// Interest charged on an overdue invoice.
    interest_charge (id) {
        id -> BigInt,
        invoice_id -> BigInt,
        months -> BigInt,
        through_day -> Date,
        change_id -> BigInt,
        made_at -> BigInt,
    }
}

diesel::table! {
    /// What a share weighed packaged, as the farmer or its customer told it; every revision stays.
    packaged_weight (id) {
        id -> BigInt,
        reservation_id -> BigInt,
        source -> Text,
        revision -> BigInt,
        weight -> Nullable<BigInt>,
        on_day -> Date,
        told_by -> Text,
        told_at -> BigInt,
    }
}

diesel::table! {
    /// How the farm hands meat over: one row or none.
    pickup_rule (id) {
        id -> BigInt,
        hold_until_paid -> Bool,
        hours_before -> BigInt,
        ask_every -> BigInt,
        remind_before -> Bool,
        free_days -> BigInt,
        storage_per -> Nullable<Text>,
        storage_amount -> BigInt,
        version -> BigInt,
    }
}

diesel::table! {
    /// Where meat is handed over.
    pickup_place (id) {
        id -> BigInt,
        name -> Text,
        address -> Text,
        words -> Text,
        retired_at -> Nullable<BigInt>,
        created_at -> BigInt,
        version -> BigInt,
    }
}

diesel::table! {
    /// When the meat of a processing date can be collected, and by how many customers.
    pickup_window (id) {
        id -> BigInt,
        date_id -> BigInt,
        place_id -> BigInt,
        on_day -> Date,
        opens -> Text,
        closes -> Text,
        most -> BigInt,
        cancelled_at -> Nullable<BigInt>,
        created_at -> BigInt,
        version -> BigInt,
    }
}

diesel::table! {
    /// Orders whose meat is ready, with the storage rule that was said with it.
    pickup_ready (reservation_id) {
        reservation_id -> BigInt,
        ready_on -> Date,
        boxes -> Nullable<BigInt>,
        free_days -> BigInt,
        storage_per -> Nullable<Text>,
        storage_amount -> BigInt,
        message_id -> Nullable<BigInt>,
        said_at -> BigInt,
    }
}

diesel::table! {
    /// The window an order was given; empty when it lost the one it had.
    pickup_choice (reservation_id) {
        reservation_id -> BigInt,
        window_id -> Nullable<BigInt>,
        chosen_at -> BigInt,
        chosen_by -> Text,
        times -> BigInt,
    }
}

diesel::table! {
    /// What a customer wrote because no window fits.
    pickup_note (id) {
        id -> BigInt,
        reservation_id -> BigInt,
        words -> Text,
        asked_at -> BigInt,
        answered_at -> Nullable<BigInt>,
    }
}

diesel::table! {
    /// Whom Gambrel reminded of pickup, once for each kind and day.
    pickup_reminder (reservation_id, kind, for_day) {
        reservation_id -> BigInt,
        kind -> Text,
        for_day -> Date,
        message_id -> BigInt,
        made_at -> BigInt,
    }
}

diesel::table! {
    /// Who collected an order's meat.
    pickup_collected (reservation_id) {
        reservation_id -> BigInt,
        by_name -> Text,
        noted_by -> Text,
        noted_at -> BigInt,
    }
}

diesel::table! {
    /// Storage the farmer charged, and where it stands.
    storage_charge (id) {
        id -> BigInt,
        reservation_id -> BigInt,
        through_day -> Date,
        amount -> BigInt,
        order_charge_id -> Nullable<BigInt>,
        change_id -> Nullable<BigInt>,
        made_at -> BigInt,
    }
}

diesel::table! {
    /// The secret address of the farm's calendar feed.
    calendar_feed (token_hash) {
        token_hash -> Text,
        made_at -> BigInt,
        ended_at -> Nullable<BigInt>,
    }
}

diesel::table! {
    /// A calendar file that goes with a message.
    message_calendar (message_id) {
        message_id -> BigInt,
        method -> Text,
        body -> Text,
    }
}

diesel::joinable!(pickup_window -> processing_date (date_id));
diesel::joinable!(pickup_window -> pickup_place (place_id));
diesel::joinable!(cost_head -> cost (cost_id));
diesel::joinable!(cost_head -> animal (animal_id));
diesel::joinable!(bill_of_sale -> reservation (reservation_id));
diesel::joinable!(balance_letter -> invoice (invoice_id));
diesel::joinable!(balance_letter -> message (message_id));
diesel::joinable!(interest_charge -> invoice (invoice_id));
diesel::joinable!(interest_charge -> invoice_change (change_id));
diesel::joinable!(packaged_weight -> reservation (reservation_id));
diesel::joinable!(pickup_ready -> reservation (reservation_id));
diesel::joinable!(pickup_choice -> reservation (reservation_id));
diesel::joinable!(pickup_choice -> pickup_window (window_id));
diesel::joinable!(pickup_note -> reservation (reservation_id));
diesel::joinable!(pickup_reminder -> reservation (reservation_id));
diesel::joinable!(pickup_collected -> reservation (reservation_id));
diesel::joinable!(storage_charge -> reservation (reservation_id));
diesel::joinable!(plant_link -> processing_date (date_id));
diesel::joinable!(plant_session -> plant_link (link_id));
diesel::joinable!(packet -> processing_date (date_id));
diesel::joinable!(packet_receipt -> packet (packet_id));
diesel::joinable!(plant_entry -> processing_date (date_id));
diesel::joinable!(plant_entry -> animal (animal_id));
diesel::joinable!(plant_entry -> reservation (reservation_id));
diesel::joinable!(place_lock -> reservation (reservation_id));
diesel::joinable!(plan_move -> plan_acceptance (acceptance_id));
diesel::joinable!(plan_move -> reservation (reservation_id));
diesel::joinable!(cut_sheet -> reservation (reservation_id));
diesel::table! {
    /// Private links of customers, each to one order. token_hash is the SHA-256 of the token. made_for: 'mail' or 'shown'.
    customer_link (id) {
        id -> BigInt,
        reservation_id -> BigInt,
        token_hash -> Text,
        made_at -> BigInt,
        made_for -> Text,
        last_used_at -> Nullable<BigInt>,
        revoked_at -> Nullable<BigInt>,
    }
}

diesel::table! {
    /// Browsers that opened a private link. id_hash is the SHA-256 of the cookie's random id; form_secret keys that browser's one-use form keys.
    link_session (id_hash) {
        id_hash -> Text,
        link_id -> BigInt,
        form_secret -> Text,
        made_at -> BigInt,
        last_seen_at -> BigInt,
        ends_at -> BigInt,
    }
}

diesel::table! {
    /// A customer's wish by private link to cancel the order. deposit_words: what was said beforehand about the deposit.
    cancel_request (id) {
        id -> BigInt,
        reservation_id -> BigInt,
        reason -> Text,
        deposit_words -> Text,
        asked_at -> BigInt,
        answer -> Nullable<Text>,
        answered_at -> Nullable<BigInt>,
        note -> Text,
    }
}

diesel::joinable!(customer_link -> reservation (reservation_id));
diesel::joinable!(link_session -> customer_link (link_id));
diesel::joinable!(cancel_request -> reservation (reservation_id));
diesel::joinable!(side_decision -> animal (animal_id));

diesel::table! {
    /// Accounts at a bank whose statements are read.
    bank_account (id) {
        id -> BigInt,
        name -> Text,
        form -> Nullable<Text>,
        known -> Nullable<Text>,
        matched -> Text,
        made_at -> BigInt,
    }
}

diesel::table! {
    /// Statements that were read.
    bank_file (id) {
        id -> BigInt,
        account_id -> BigInt,
        name -> Text,
        first_on -> Date,
        last_on -> Date,
        line_count -> BigInt,
        new_count -> BigInt,
        taken_by -> Text,
        taken_at -> BigInt,
    }
}

diesel::table! {
    /// Lines of statements, each kept once.
    bank_line (id) {
        id -> BigInt,
        account_id -> BigInt,
        file_id -> BigInt,
        line_key -> Text,
        day -> Date,
        amount -> BigInt,
        words -> Text,
        reference -> Text,
    }
}

diesel::table! {
    /// What a line of a statement is.
    bank_tie (line_id) {
        line_id -> BigInt,
        kind -> Text,
        payment_id -> Nullable<BigInt>,
        unmatched_id -> Nullable<BigInt>,
        slip_id -> Nullable<BigInt>,
        words -> Text,
        tied_by -> Text,
        tied_at -> BigInt,
    }
}

diesel::table! {
    /// Tables of a bank that wait for their columns to be matched.
    bank_upload (id) {
        id -> BigInt,
        account_id -> BigInt,
        name -> Text,
        content -> Text,
        made_at -> BigInt,
    }
}

diesel::table! {
    /// Bank deposit slips.
    deposit_slip (id) {
        id -> BigInt,
        made_on -> Date,
        cash -> BigInt,
        total -> BigInt,
        document -> Text,
        made_by -> Text,
        made_at -> BigInt,
    }
}

diesel::table! {
    /// What is on a deposit slip.
    deposit_slip_item (slip_id, position) {
        slip_id -> BigInt,
        position -> BigInt,
        payment_id -> Nullable<BigInt>,
        unmatched_id -> Nullable<BigInt>,
    }
}

diesel::table! {
    /// Money that came in and nobody knows from whom, until it is matched or given back.
    unmatched_money (id) {
        id -> BigInt,
        method -> Text,
        amount -> BigInt,
        received_on -> Date,
        payer -> Text,
        reference -> Text,
        note -> Text,
        recorded_at -> BigInt,
        payment_id -> Nullable<BigInt>,
        back_method -> Nullable<Text>,
        back_on -> Nullable<Date>,
        back_words -> Text,
    }
}

diesel::table! {
    /// Double entry: what each act did to the accounts. Append-only.
    ledger_entry (id) {
        id -> BigInt,
        kind -> Text,
        day -> Date,
        customer_id -> Nullable<BigInt>,
        reservation_id -> Nullable<BigInt>,
        invoice_id -> Nullable<BigInt>,
        payment_id -> Nullable<BigInt>,
        note -> Text,
        actor -> Text,
        made_at -> BigInt,
    }
}

diesel::table! {
    /// The lines of an entry; they add up to zero. Debit is positive, credit negative.
    ledger_line (entry_id, position) {
        entry_id -> BigInt,
        position -> BigInt,
        account -> Text,
        amount -> BigInt,
        customer_id -> Nullable<BigInt>,
        reservation_id -> Nullable<BigInt>,
        invoice_id -> Nullable<BigInt>,
    }
}

diesel::table! {
    /// Two payments that belong together. 'bounced': second, a refund, undoes first. 'moved': first, a refund of the giver, became second, received by the taker.
    payment_pair (second_id) {
        second_id -> BigInt,
        first_id -> BigInt,
        kind -> Text,
    }
}

diesel::table! {
    /// What an issued invoice's balance changed by other than by payment: taken off (amount < 0) or added. Append-only.
    invoice_change (id) {
        id -> BigInt,
        invoice_id -> BigInt,
        kind -> Text,
        amount -> BigInt,
        tax -> BigInt,
        made_on -> Date,
        reason -> Text,
        number -> Nullable<Text>,
        document -> Nullable<Text>,
        made_at -> BigInt,
    }
}

diesel::table! {
    /// Numbered slips of money given back; document is the paper's content, frozen.
    refund_slip (id) {
        id -> BigInt,
        number -> Text,
        payment_id -> BigInt,
        made_on -> Date,
        document -> Text,
    }
}

diesel::table! {
    /// The farm's public page: at most one row. is_on: strangers may read it.
    public_page (id) {
        id -> BigInt,
        is_on -> Bool,
        headline -> Text,
        words -> Text,
        changed_at -> BigInt,
        version -> BigInt,
    }
}

diesel::table! {
    /// Offerings that stand on the public page while they are open.
    public_offering (offering_id) {
        offering_id -> BigInt,
    }
}

diesel::table! {
    /// Pictures of the public page, in order of position.
    public_picture (id) {
        id -> BigInt,
        alt -> Text,
        position -> BigInt,
        added_at -> BigInt,
    }
}

diesel::table! {
    /// A picture in one width: a JPEG as base64. digest: its address.
    public_picture_size (picture_id, width) {
        picture_id -> BigInt,
        width -> BigInt,
        height -> BigInt,
        digest -> Text,
        body -> Text,
    }
}

diesel::table! {
    /// The farm's terms in versions; a version never changes. An empty body: from then on none are asked for.
    sale_terms (id) {
        id -> BigInt,
        number -> BigInt,
        body -> Text,
        made_on -> Date,
        made_at -> BigInt,
        made_by -> Text,
    }
}

diesel::table! {
    /// Which version of the terms the customer of an order accepted. way: 'request', 'link', 'paper', 'person'.
    terms_acceptance (reservation_id, customer_id) {
        reservation_id -> BigInt,
        customer_id -> BigInt,
        terms_id -> BigInt,
        way -> Text,
        accepted_on -> Date,
        noted_by -> Text,
        noted_at -> BigInt,
    }
}

diesel::table! {
    /// Confirmations of reservations; document is the paper's content, frozen.
    confirmation (id) {
        id -> BigInt,
        reservation_id -> BigInt,
        customer_id -> BigInt,
        made_on -> Date,
        deposit_due_on -> Nullable<Date>,
        document -> Text,
    }
}

diesel::table! {
    /// A stranger's request to reserve a share, with the price the page showed. outcome: 'accepted' or 'declined'.
    reserve_request (id) {
        id -> BigInt,
        offering_id -> BigInt,
        size -> Text,
        part -> Nullable<Text>,
        name -> Text,
        mail -> Text,
        phone -> Text,
        address -> Text,
        only_these -> Bool,
        together -> Text,
        note -> Text,
        price_basis -> Text,
        rate -> Nullable<BigInt>,
        flat_price -> Nullable<BigInt>,
        deposit -> BigInt,
        terms_id -> Nullable<BigInt>,
        message_id -> Nullable<BigInt>,
        asked_at -> BigInt,
        confirm_by -> BigInt,
        confirmed_at -> Nullable<BigInt>,
        outcome -> Nullable<Text>,
        answered_at -> Nullable<BigInt>,
        answered_by -> Text,
        answer -> Text,
        reservation_id -> Nullable<BigInt>,
    }
}

diesel::table! {
    /// The dates a request would like, best first.
    request_date (request_id, place) {
        request_id -> BigInt,
        place -> BigInt,
        date_id -> BigInt,
    }
}

diesel::table! {
    /// Links that confirm the address of a request; token_hash is the SHA-256 of the token.
    request_link (token_hash) {
        token_hash -> Text,
        request_id -> BigInt,
        made_at -> BigInt,
    }
}

diesel::joinable!(terms_acceptance -> sale_terms (terms_id));
diesel::joinable!(terms_acceptance -> reservation (reservation_id));
diesel::joinable!(confirmation -> reservation (reservation_id));
diesel::joinable!(reserve_request -> offering (offering_id));
diesel::joinable!(request_link -> reserve_request (request_id));
diesel::joinable!(request_date -> processing_date (date_id));
diesel::joinable!(ledger_line -> ledger_entry (entry_id));
diesel::joinable!(bank_line -> bank_account (account_id));
diesel::joinable!(bank_tie -> bank_line (line_id));
diesel::joinable!(bank_upload -> bank_account (account_id));
diesel::joinable!(bank_file -> bank_account (account_id));
diesel::joinable!(refund_slip -> payment (payment_id));
diesel::joinable!(invoice_change -> invoice (invoice_id));
diesel::joinable!(sheet_request -> reservation (reservation_id));
diesel::joinable!(waiting_offer -> reservation (reservation_id));
diesel::joinable!(reservation -> customer (customer_id));
diesel::joinable!(reservation -> offering (offering_id));
diesel::joinable!(placement -> reservation (reservation_id));
diesel::joinable!(placement -> animal (animal_id));
diesel::joinable!(animal -> processing_date (date_id));
diesel::joinable!(processing_date -> processor (processor_id));
diesel::joinable!(date_slot -> processing_date (date_id));
diesel::joinable!(weigh_in -> animal (animal_id));
diesel::joinable!(lost_share -> animal (animal_id));
diesel::joinable!(lost_share -> reservation (reservation_id));
diesel::joinable!(invoice -> reservation (reservation_id));
diesel::joinable!(invoice -> customer (customer_id));
diesel::joinable!(invoice_line -> invoice (invoice_id));
diesel::joinable!(invoice_line -> processor_charge (charge_id));
diesel::joinable!(treatment -> animal (animal_id));
diesel::joinable!(allocation -> payment (payment_id));
diesel::joinable!(payment -> customer (customer_id));
diesel::joinable!(receipt -> payment (payment_id));
diesel::joinable!(credit_note -> invoice (invoice_id));
diesel::joinable!(session -> account (account_id));
diesel::joinable!(password_link -> account (account_id));
diesel::joinable!(public_offering -> offering (offering_id));
diesel::joinable!(public_picture_size -> public_picture (picture_id));

diesel::allow_tables_to_appear_in_same_query!(
    pickup_rule,
    pickup_place,
    pickup_window,
    pickup_ready,
    pickup_choice,
    pickup_note,
    pickup_reminder,
    pickup_collected,
    storage_charge,
    public_page,
    public_offering,
    public_picture,
    public_picture_size,
    sale_terms,
    terms_acceptance,
    confirmation,
    reserve_request,
    request_date,
    request_link,
    plant_link,
    plant_session,
    packet_receipt,
    plant_entry,
    import_file,
    import_columns,
    import_taken,
    weight_file,
    weight_file_taken,
    processor_columns,
    cost,
    cost_head,
    bill_of_sale,
    bill_of_sale_text,
    balance_rule,
    balance_stop,
    balance_letter,
    interest_charge,
    packaged_weight,
    customer_link,
    link_session,
    cancel_request,
    share_wish,
    later_choice,
    place_lock,
    plan_acceptance,
    plan_move,
    bank_account,
    bank_file,
    bank_line,
    bank_tie,
    bank_upload,
    deposit_slip,
    deposit_slip_item,
    unmatched_money,
    ledger_entry,
    ledger_line,
    payment_pair,
    invoice_change,
    refund_slip,
    waiting_offer,
    cut_sheet,
    packet,
    packet_sheet,
    sheet_draft,
    sheet_reminder,
    sheet_request,
    calendar_feed,
    message_calendar,
    side_decision,
    farm,
    account,
    session,
    recovery_code,
    password_link,
    setup_link,
    used_form_key,
    counter,
    customer,
    offering,
    price,
    processor,
    processor_charge,
    processor_offer,
    processing_date,
    date_slot,
    animal,
    live_weight,
    treatment,
    reservation,
    placement,
    lost_share,
    weigh_in,
    order_charge,
    order_product,
    payment,
    receipt,
    invoice,
    invoice_line,
    credit_note,
    allocation,
    message,
    message_template,
    story
);
