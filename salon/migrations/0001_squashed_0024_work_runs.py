"""All steps so far at once, for a database without any table (decision 0091)."""

import datetime
import django.contrib.auth.validators
import django.core.validators
import django.db.models.deletion
import salon.languages
import salon.models.salon
import salon.user_names
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    replaces = [('salon', '0001_initial'), ('salon', '0002_tablet'), ('salon', '0003_languages'), ('salon', '0004_starting_point'), ('salon', '0005_helps_put_away'), ('salon', '0006_may_import_lists'), ('salon', '0007_staff_email'), ('salon', '0008_plain_words'), ('salon', '0009_accounts'), ('salon', '0010_second_factor'), ('salon', '0011_privacy'), ('salon', '0012_country'), ('salon', '0013_logo_and_declined_steps'), ('salon', '0014_staff_email_text'), ('salon', '0015_yearly_holidays'), ('salon', '0016_screen_check'), ('salon', '0017_work'), ('salon', '0018_passkeys'), ('salon', '0019_mail'), ('salon', '0020_keys_seen'), ('salon', '0021_letter_reader'), ('salon', '0022_prepared_files'), ('salon', '0023_linked_accounts'), ('salon', '0024_work_runs')]

    initial = True

    dependencies = [
    ]

    operations = [
        migrations.CreateModel(
            name='Salon',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=120, verbose_name='name')),
                ('time_zone', models.CharField(default='UTC', max_length=64, validators=[salon.models.salon.validate_time_zone], verbose_name='time zone')),
                ('currency', models.CharField(default='EUR', max_length=3, verbose_name='currency')),
                ('phone', models.CharField(blank=True, max_length=40, verbose_name='phone')),
                ('address', models.CharField(blank=True, max_length=200, verbose_name='address')),
                ('opens_at', models.TimeField(default=datetime.time(9, 0), verbose_name='opens at')),
                ('closes_at', models.TimeField(default=datetime.time(19, 0), verbose_name='closes at')),
                ('language', models.CharField(choices=salon.languages.choices, default='en-gb', max_length=10, verbose_name='language of cards and letters')),
                ('first_steps_put_away', models.BooleanField(default=False, editable=False)),
                ('country', models.CharField(blank=True, max_length=2, validators=[salon.models.salon.validate_country], verbose_name='country')),
                ('steps_declined', models.JSONField(blank=True, default=list, editable=False)),
                ('yearly_holidays', models.JSONField(blank=True, default=dict, editable=False)),
                ('email', models.EmailField(blank=True, max_length=254, verbose_name='e-mail')),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('opens_at__lt', models.F('closes_at'))), name='salon_opens_before_it_closes')],
            },
        ),
        migrations.CreateModel(
            name='KeySeen',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(max_length=30)),
                ('fingerprint', models.CharField(max_length=16)),
                ('first_seen_at', models.DateTimeField()),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('kind', 'fingerprint'), name='key_seen_once')],
            },
        ),
        migrations.CreateModel(
            name='StaffSession',
            fields=[
                ('session_key', models.CharField(max_length=40, primary_key=True, serialize=False, verbose_name='session key')),
                ('session_data', models.TextField(verbose_name='session data')),
                ('expire_date', models.DateTimeField(db_index=True, verbose_name='expire date')),
                ('staff_id', models.BigIntegerField(db_index=True, null=True)),
            ],
            options={
                'verbose_name': 'session',
                'verbose_name_plural': 'sessions',
            },
        ),
        migrations.CreateModel(
            name='TimetableEntry',
            fields=[
                ('name', models.CharField(max_length=40, primary_key=True, serialize=False)),
                ('due_at', models.DateTimeField()),
                ('task', models.CharField(blank=True, max_length=36)),
                ('ended_at', models.DateTimeField(null=True)),
                ('fault', models.CharField(blank=True, max_length=300)),
            ],
        ),
        migrations.CreateModel(
            name='WorkerLease',
            fields=[
                ('name', models.CharField(max_length=64, primary_key=True, serialize=False)),
                ('started_at', models.DateTimeField()),
                ('seen_at', models.DateTimeField()),
                ('until', models.DateTimeField()),
            ],
        ),
        migrations.CreateModel(
            name='AuditEvent',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(max_length=60)),
                ('at', models.DateTimeField()),
                ('actor_id', models.BigIntegerField(null=True)),
                ('actor_label', models.CharField(blank=True, max_length=80)),
                ('target_type', models.CharField(max_length=80)),
                ('target_id', models.CharField(max_length=40)),
                ('detail', models.JSONField(default=dict)),
                ('salon', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='audit_events', to='salon.salon')),
            ],
            options={
                'ordering': ['-at', '-pk'],
                'abstract': False,
                'base_manager_name': 'objects',
                'indexes': [models.Index(fields=['salon', '-at'], name='audit_by_time'), models.Index(fields=['target_type', 'target_id'], name='audit_by_target')],
            },
        ),
        migrations.CreateModel(
            name='SalonLogo',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('content', models.BinaryField()),
                ('changed_at', models.DateTimeField()),
                ('salon', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='logo', to='salon.salon')),
            ],
        ),
        migrations.CreateModel(
            name='Staff',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('password', models.CharField(max_length=128, verbose_name='password')),
                ('last_login', models.DateTimeField(blank=True, null=True, verbose_name='last login')),
                ('username', models.CharField(error_messages={'unique': 'Someone already signs in with this name.'}, max_length=60, unique=True, validators=[django.contrib.auth.validators.UnicodeUsernameValidator(), salon.user_names.validate_one_script], verbose_name='user name')),
                ('display_name', models.CharField(max_length=80, verbose_name='name')),
                ('role', models.CharField(choices=[('receptionist', 'Receptionist'), ('stylist', 'Stylist'), ('owner', 'Owner')], max_length=20, verbose_name='role')),
                ('has_column', models.BooleanField(default=False, verbose_name='takes clients')),
                ('column_order', models.PositiveSmallIntegerField(default=0, verbose_name='position in the diary')),
                ('is_active', models.BooleanField(default=True, verbose_name='can sign in')),
                ('language', models.CharField(blank=True, choices=salon.languages.choices, max_length=10, verbose_name='language')),
                ('helps_put_away', models.JSONField(default=list, editable=False)),
                ('may_import_lists', models.BooleanField(default=False, help_text='For receptionists; owners always can.', verbose_name='can import client lists')),
                ('email', models.EmailField(blank=True, help_text='For a forgotten password; to owners also the anchors of the sign-offs.', max_length=254, verbose_name='e-mail')),
                ('one_time_until', models.DateTimeField(blank=True, editable=False, null=True)),
                ('has_short_password', models.BooleanField(default=False, editable=False)),
                ('salon', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='staff', to='salon.salon')),
            ],
            options={
                'verbose_name': 'member of staff',
                'verbose_name_plural': 'staff',
                'ordering': ['column_order', 'display_name', 'pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('role__in', ['receptionist', 'stylist', 'owner'])), name='staff_role_known')],
            },
        ),
        migrations.CreateModel(
            name='Device',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=60, verbose_name='name of the device')),
                ('token_hash', models.CharField(max_length=64, unique=True)),
                ('enrolled_at', models.DateTimeField()),
                ('last_used_at', models.DateTimeField(blank=True, null=True)),
                ('wrong_pins', models.PositiveSmallIntegerField(default=0)),
                ('revoked_at', models.DateTimeField(blank=True, null=True)),
                ('screen_checked_at', models.DateTimeField(blank=True, null=True)),
                ('screen_verdict', models.CharField(blank=True, choices=[('trusted', 'shows colour well enough'), ('night_mode', 'night mode seems to be on'), ('too_dim', 'too dark to judge by'), ('unfit', 'not for judging colour')], max_length=12)),
                ('enrolled_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('revoked_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('salon', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='devices', to='salon.salon')),
            ],
            options={
                'ordering': ['name', 'pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('name', ''), _negated=True), name='device_has_a_name'), models.CheckConstraint(condition=models.Q(('wrong_pins__lte', 10)), name='device_tries_end'), models.CheckConstraint(condition=models.Q(models.Q(('revoked_at', None), ('revoked_by', None)), models.Q(('revoked_at__isnull', False), ('revoked_by__isnull', False)), _connector='OR'), name='device_revoked_by_someone'), models.CheckConstraint(condition=models.Q(models.Q(('screen_checked_at', None), ('screen_verdict', '')), models.Q(('screen_checked_at__isnull', False), ('screen_verdict__in', ['trusted', 'night_mode', 'too_dim', 'unfit'])), _connector='OR'), name='device_screen_checked_once')],
            },
        ),
        migrations.CreateModel(
            name='Letter',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(max_length=12)),
                ('about', models.PositiveBigIntegerField()),
                ('state', models.CharField(choices=[('waiting', 'waiting'), ('sending', 'being sent'), ('sent', 'sent'), ('refused', 'refused'), ('perhaps', 'perhaps sent'), ('dropped', 'no longer needed')], default='waiting', max_length=8)),
                ('tries', models.PositiveSmallIntegerField(default=0)),
                ('reason', models.CharField(blank=True, max_length=12)),
                ('reply_code', models.PositiveSmallIntegerField(null=True)),
                ('asked_at', models.DateTimeField()),
                ('until', models.DateTimeField()),
                ('taken_at', models.DateTimeField(null=True)),
                ('ended_at', models.DateTimeField(null=True)),
                ('reader', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('salon', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='salon.salon')),
            ],
            options={
                'ordering': ['-pk'],
                'indexes': [models.Index(fields=['salon', 'state'], name='letter_by_state'), models.Index(fields=['kind', 'about'], name='letter_about')],
                'constraints': [models.CheckConstraint(condition=models.Q(('state__in', ['waiting', 'sending', 'sent', 'refused', 'perhaps', 'dropped'])), name='letter_state_known')],
            },
        ),
        migrations.CreateModel(
            name='LinkedAccount',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('staff_key', models.CharField(max_length=64)),
                ('other_key', models.CharField(max_length=64)),
                ('linked_at', models.DateTimeField()),
                ('other', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('staff', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='linked_accounts', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'verbose_name': 'linked account',
                'verbose_name_plural': 'linked accounts',
                'constraints': [models.UniqueConstraint(fields=('staff', 'other'), name='account_linked_once'), models.CheckConstraint(condition=models.Q(('staff', models.F('other')), _negated=True), name='account_linked_to_another')],
            },
        ),
        migrations.CreateModel(
            name='Passkey',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=60)),
                ('credential_id', models.CharField(max_length=1400, unique=True)),
                ('credential', models.TextField()),
                ('user_handle', models.CharField(max_length=90)),
                ('sign_count', models.PositiveBigIntegerField(default=0)),
                ('added_at', models.DateTimeField()),
                ('used_at', models.DateTimeField(null=True)),
                ('staff', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='passkeys', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'verbose_name': 'passkey',
                'verbose_name_plural': 'passkeys',
                'ordering': ['added_at', 'pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('name', ''), _negated=True), name='passkey_has_a_name')],
            },
        ),
        migrations.CreateModel(
            name='Policy',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('number', models.PositiveIntegerField(default=1)),
                ('patch_lead_hours', models.PositiveSmallIntegerField(default=48, validators=[django.core.validators.MinValueValidator(24), django.core.validators.MaxValueValidator(168)], verbose_name='hours between test and service, at least')),
                ('patch_read_hours', models.PositiveSmallIntegerField(default=48, validators=[django.core.validators.MinValueValidator(24), django.core.validators.MaxValueValidator(96)], verbose_name='hours until a test can be read')),
                ('patch_valid_months', models.PositiveSmallIntegerField(default=6, validators=[django.core.validators.MinValueValidator(1), django.core.validators.MaxValueValidator(12)], verbose_name='months a clear test is valid')),
                ('minimum_age', models.PositiveSmallIntegerField(default=16, validators=[django.core.validators.MinValueValidator(16), django.core.validators.MaxValueValidator(21)], verbose_name='youngest age for colour')),
                ('records_keep_years', models.PositiveSmallIntegerField(default=6, validators=[django.core.validators.MinValueValidator(1), django.core.validators.MaxValueValidator(30)], verbose_name='years to keep records')),
                ('recorded_at', models.DateTimeField()),
                ('idle_lock_minutes', models.PositiveSmallIntegerField(default=5, help_text='Applies from the next sign-in.', validators=[django.core.validators.MinValueValidator(1), django.core.validators.MaxValueValidator(30)], verbose_name='minutes until an idle screen is locked')),
                ('owners_need_second_factor', models.BooleanField(default=False, help_text='Each owner is asked to set one up at their next sign-in.', verbose_name='owners sign in with a second factor')),
                ('messages_keep_months', models.PositiveSmallIntegerField(default=12, validators=[django.core.validators.MinValueValidator(1), django.core.validators.MaxValueValidator(120)], verbose_name='months to keep reminders and rows of imported lists')),
                ('photos_keep_years', models.PositiveSmallIntegerField(default=2, validators=[django.core.validators.MinValueValidator(1), django.core.validators.MaxValueValidator(30)], verbose_name='years to keep photos')),
                ('recorded_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('salon', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='policies', to='salon.salon')),
            ],
            options={
                'ordering': ['-number'],
                'abstract': False,
                'base_manager_name': 'objects',
                'constraints': [models.UniqueConstraint(fields=('salon', 'number'), name='policy_number_once'), models.CheckConstraint(condition=models.Q(('minimum_age__gte', 16), ('patch_lead_hours__gte', 24), ('patch_read_hours__gte', 24), ('patch_valid_months__gte', 1)), name='policy_not_careless'), models.CheckConstraint(condition=models.Q(('idle_lock_minutes__gte', 1), ('idle_lock_minutes__lte', 30)), name='policy_locks_in_time')],
            },
        ),
        migrations.CreateModel(
            name='PreparedFile',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('requested_at', models.DateTimeField()),
                ('kind', models.CharField(max_length=30)),
                ('arguments', models.JSONField(default=dict)),
                ('digest', models.CharField(max_length=64)),
                ('language', models.CharField(max_length=10)),
                ('state', models.CharField(choices=[('waiting', 'waiting'), ('running', 'being prepared'), ('done', 'ready'), ('failed', 'failed'), ('cancelled', 'cancelled'), ('expired', 'deleted')], default='waiting', max_length=9)),
                ('rows_done', models.PositiveIntegerField(default=0)),
                ('rows_expected', models.PositiveIntegerField(default=0)),
                ('turn', models.PositiveIntegerField(default=0)),
                ('task', models.CharField(blank=True, max_length=36)),
                ('fault', models.CharField(blank=True, max_length=12)),
                ('ended_at', models.DateTimeField(null=True)),
                ('expires_at', models.DateTimeField(null=True)),
                ('stored', models.CharField(blank=True, max_length=120)),
                ('size', models.PositiveBigIntegerField(default=0)),
                ('fetched_at', models.DateTimeField(null=True)),
                ('requested_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('salon', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='salon.salon')),
            ],
            options={
                'ordering': ['-requested_at', '-pk'],
                'indexes': [models.Index(fields=['requested_by', '-requested_at'], name='file_by_reader'), models.Index(fields=['state', 'expires_at'], name='file_by_state')],
                'constraints': [models.CheckConstraint(condition=models.Q(('state__in', ['waiting', 'running', 'done', 'failed', 'cancelled', 'expired'])), name='file_state_known'), models.CheckConstraint(condition=models.Q(models.Q(('state', 'done'), _negated=True), models.Q(('expires_at__isnull', False), ('stored__gt', '')), _connector='OR'), name='file_done_is_stored'), models.UniqueConstraint(condition=models.Q(('state__in', ('waiting', 'running'))), fields=('requested_by', 'digest'), name='file_open_once')],
            },
        ),
        migrations.CreateModel(
            name='SecondFactor',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('secret', models.TextField(blank=True)),
                ('set_at', models.DateTimeField()),
                ('last_step', models.BigIntegerField(default=0)),
                ('wrong_tries', models.PositiveSmallIntegerField(default=0)),
                ('staff', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='second_factor', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'verbose_name': 'second factor',
                'verbose_name_plural': 'second factors',
            },
        ),
        migrations.CreateModel(
            name='StaffPin',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('secret', models.CharField(max_length=200)),
                ('set_at', models.DateTimeField()),
                ('wrong_tries', models.PositiveSmallIntegerField(default=0)),
                ('staff', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='pin', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('wrong_tries__lte', 5)), name='staff_pin_tries_end')],
            },
        ),
        migrations.CreateModel(
            name='Submission',
            fields=[
                ('key', models.UUIDField(primary_key=True, serialize=False)),
                ('path', models.CharField(max_length=300)),
                ('answer', models.CharField(blank=True, max_length=300)),
                ('at', models.DateTimeField()),
                ('staff', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.CreateModel(
            name='WorkRun',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(max_length=20)),
                ('subject', models.PositiveBigIntegerField(default=0)),
                ('state', models.CharField(choices=[('open', 'Open'), ('done', 'Done'), ('failed', 'Failed')], default='open', max_length=6)),
                ('rows_done', models.PositiveIntegerField(default=0)),
                ('rows_expected', models.PositiveIntegerField(default=0)),
                ('task', models.CharField(blank=True, max_length=36)),
                ('outcome', models.JSONField(default=dict)),
                ('begun_at', models.DateTimeField()),
                ('ended_at', models.DateTimeField(null=True)),
                ('begun_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('salon', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='salon.salon')),
            ],
            options={
                'ordering': ['-begun_at', '-pk'],
                'indexes': [models.Index(fields=['salon', 'kind', 'subject', '-begun_at'], name='run_by_subject')],
                'constraints': [models.CheckConstraint(condition=models.Q(('state__in', ['open', 'done', 'failed'])), name='run_state_known'), models.UniqueConstraint(condition=models.Q(('state', 'open')), fields=('salon', 'kind'), name='run_open_once')],
            },
        ),
        migrations.CreateModel(
            name='RecoveryCode',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=4)),
                ('secret', models.CharField(max_length=128)),
                ('used_at', models.DateTimeField(null=True)),
                ('factor', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='recovery_codes', to='salon.secondfactor')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('factor', 'name'), name='recovery_code_named_once')],
            },
        ),
    ]
