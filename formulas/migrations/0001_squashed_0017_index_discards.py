"""All steps so far at once, for a database without any table (decision 0091)."""

import django.core.validators
import django.db.models.deletion
from decimal import Decimal
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    replaces = [('formulas', '0001_initial'), ('formulas', '0002_chart_set_by_eye'), ('formulas', '0003_check_minutes'), ('formulas', '0004_learned_strengths'), ('formulas', '0005_starting_point'), ('formulas', '0006_earned_ranges'), ('formulas', '0007_mixing_rules'), ('formulas', '0008_practice_rules'), ('formulas', '0009_invented_answer'), ('formulas', '0010_plain_words'), ('formulas', '0011_shelf_balance'), ('formulas', '0012_labels_and_batches'), ('formulas', '0013_price_of_a_discard'), ('formulas', '0014_index_what_grows'), ('formulas', '0015_further_developers'), ('formulas', '0016_salon_of_a_movement'), ('formulas', '0017_index_discards')]

    initial = True

    dependencies = [
        ('salon', '0006_may_import_lists'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='ChartEntry',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('level', models.DecimalField(decimal_places=1, max_digits=3, verbose_name='level')),
                ('kind', models.CharField(choices=[('natural', 'natural hair'), ('warmth', 'exposed warmth')], max_length=10)),
                ('standing', models.CharField(choices=[('assumed', 'model assumption'), ('measured', 'measured swatch'), ('by_eye', 'set by eye')], max_length=10)),
                ('lightness', models.FloatField(verbose_name='L*')),
                ('green_red', models.FloatField(verbose_name='a*')),
                ('blue_yellow', models.FloatField(verbose_name='b*')),
                ('recorded_at', models.DateTimeField()),
                ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('salon', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='chart_entries', to='salon.salon')),
            ],
            options={
                'ordering': ['level', 'kind', '-recorded_at', '-pk'],
                'abstract': False,
                'base_manager_name': 'objects',
                'constraints': [models.CheckConstraint(condition=models.Q(('level__gte', 1), ('level__lte', 10)), name='chart_level_within_1_to_10'), models.CheckConstraint(condition=models.Q(('lightness__gte', 0), ('lightness__lte', 100)), name='chart_lightness_0_to_100')],
            },
        ),
        migrations.CreateModel(
            name='MixingRules',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('number', models.PositiveIntegerField(default=1)),
                ('roots_grams', models.DecimalField(decimal_places=1, default=Decimal('30'), max_digits=5, validators=[django.core.validators.MinValueValidator(Decimal('5')), django.core.validators.MaxValueValidator(Decimal('200'))], verbose_name='roots, g')),
                ('mid_lengths_grams', models.DecimalField(decimal_places=1, default=Decimal('30'), max_digits=5, validators=[django.core.validators.MinValueValidator(Decimal('5')), django.core.validators.MaxValueValidator(Decimal('200'))], verbose_name='mid-lengths, g')),
                ('ends_grams', models.DecimalField(decimal_places=1, default=Decimal('20'), max_digits=5, validators=[django.core.validators.MinValueValidator(Decimal('5')), django.core.validators.MaxValueValidator(Decimal('200'))], verbose_name='ends, g')),
                ('short_factor', models.DecimalField(decimal_places=2, default=Decimal('0.6'), max_digits=3, validators=[django.core.validators.MinValueValidator(Decimal('0.2')), django.core.validators.MaxValueValidator(Decimal('4'))], verbose_name='short hair, times')),
                ('shoulder_factor', models.DecimalField(decimal_places=2, default=Decimal('1'), max_digits=3, validators=[django.core.validators.MinValueValidator(Decimal('0.2')), django.core.validators.MaxValueValidator(Decimal('4'))], verbose_name='length to the shoulder, times')),
                ('long_factor', models.DecimalField(decimal_places=2, default=Decimal('1.6'), max_digits=3, validators=[django.core.validators.MinValueValidator(Decimal('0.2')), django.core.validators.MaxValueValidator(Decimal('4'))], verbose_name='longer than the shoulder, times')),
                ('thin_factor', models.DecimalField(decimal_places=2, default=Decimal('0.8'), max_digits=3, validators=[django.core.validators.MinValueValidator(Decimal('0.2')), django.core.validators.MaxValueValidator(Decimal('4'))], verbose_name='little hair, times')),
                ('normal_factor', models.DecimalField(decimal_places=2, default=Decimal('1'), max_digits=3, validators=[django.core.validators.MinValueValidator(Decimal('0.2')), django.core.validators.MaxValueValidator(Decimal('4'))], verbose_name='average amount of hair, times')),
                ('thick_factor', models.DecimalField(decimal_places=2, default=Decimal('1.3'), max_digits=3, validators=[django.core.validators.MinValueValidator(Decimal('0.2')), django.core.validators.MaxValueValidator(Decimal('4'))], verbose_name='a lot of hair, times')),
                ('least_bowl_grams', models.DecimalField(decimal_places=1, default=Decimal('20'), max_digits=5, validators=[django.core.validators.MinValueValidator(Decimal('10')), django.core.validators.MaxValueValidator(Decimal('100'))], verbose_name='smallest bowl, g')),
                ('least_grams', models.DecimalField(decimal_places=1, default=Decimal('2'), max_digits=5, validators=[django.core.validators.MinValueValidator(Decimal('0.1')), django.core.validators.MaxValueValidator(Decimal('10'))], verbose_name='least weight of a shade, g')),
                ('scale_step', models.CharField(choices=[('0.1', '0.1 g'), ('0.5', '0.5 g'), ('1', '1 g')], default='0.1', max_length=3, verbose_name='the scale shows')),
                ('recorded_at', models.DateTimeField()),
                ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('salon', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='mixing_rules', to='salon.salon')),
            ],
            options={
                'ordering': ['-number'],
                'abstract': False,
                'base_manager_name': 'objects',
                'constraints': [models.UniqueConstraint(fields=('salon', 'number'), name='mixing_rules_once'), models.CheckConstraint(condition=models.Q(('ends_grams__gt', 0), ('least_bowl_grams__gt', 0), ('least_grams__gt', 0), ('mid_lengths_grams__gt', 0), ('roots_grams__gt', 0)), name='mixing_grams_above_zero'), models.CheckConstraint(condition=models.Q(('scale_step__in', ['0.1', '0.5', '1'])), name='mixing_scale_step_known')],
            },
        ),
        migrations.CreateModel(
            name='PracticeRules',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('number', models.PositiveIntegerField(default=1)),
                ('levels_below', models.DecimalField(decimal_places=1, default=Decimal('2'), max_digits=3, validators=[django.core.validators.MinValueValidator(Decimal('0')), django.core.validators.MaxValueValidator(Decimal('9'))], verbose_name='darker than the hair, levels at most')),
                ('levels_above', models.DecimalField(decimal_places=1, default=Decimal('1'), max_digits=3, validators=[django.core.validators.MinValueValidator(Decimal('0')), django.core.validators.MaxValueValidator(Decimal('9'))], verbose_name='lighter than the hair, levels at most')),
                ('most_clear_percent', models.PositiveSmallIntegerField(default=50, validators=[django.core.validators.MaxValueValidator(100)], verbose_name='clear in the colour, % at most')),
                ('most_shades', models.PositiveSmallIntegerField(default=3, validators=[django.core.validators.MinValueValidator(1), django.core.validators.MaxValueValidator(3)], verbose_name='shades in one bowl, at most')),
                ('simple_first', models.BooleanField(default=True, verbose_name='if mixes are equally forgiving, offer the simple ratio first')),
                ('recorded_at', models.DateTimeField()),
                ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('salon', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='practice_rules', to='salon.salon')),
            ],
            options={
                'ordering': ['-number'],
                'abstract': False,
                'base_manager_name': 'objects',
                'constraints': [models.UniqueConstraint(fields=('salon', 'number'), name='practice_rules_once'), models.CheckConstraint(condition=models.Q(('levels_below__gte', 0), ('levels_below__lte', 9), ('levels_above__gte', 0), ('levels_above__lte', 9)), name='practice_levels_on_the_scale'), models.CheckConstraint(condition=models.Q(('most_clear_percent__lte', 100)), name='practice_clear_up_to_100'), models.CheckConstraint(condition=models.Q(('most_shades__gte', 1), ('most_shades__lte', 3)), name='practice_shades_one_to_three')],
            },
        ),
        migrations.CreateModel(
            name='ProductLine',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=80, verbose_name='name')),
                ('kind', models.CharField(choices=[('acidic', 'acidic demi-permanent'), ('alkaline', 'alkaline demi-permanent')], max_length=10, verbose_name='kind')),
                ('developer_ratio', models.DecimalField(decimal_places=2, default=Decimal('1.5'), help_text='1.5 means one part colour to one and a half parts developer.', max_digits=3, validators=[django.core.validators.MinValueValidator(Decimal('0.5')), django.core.validators.MaxValueValidator(Decimal('3'))], verbose_name='developer per part of colour')),
                ('developer_percent', models.DecimalField(decimal_places=2, default=Decimal('1.9'), max_digits=4, validators=[django.core.validators.MinValueValidator(Decimal('0')), django.core.validators.MaxValueValidator(Decimal('12'))], verbose_name='developer strength, % peroxide')),
                ('processing_minutes', models.PositiveSmallIntegerField(default=20, validators=[django.core.validators.MinValueValidator(1), django.core.validators.MaxValueValidator(90)], verbose_name='processing time, minutes')),
                ('is_active', models.BooleanField(default=True, verbose_name='in use')),
                ('composition_changed_at', models.DateTimeField(blank=True, help_text='A patch test placed before then no longer counts.', null=True, verbose_name='composition changed at')),
                ('data_version', models.PositiveIntegerField(default=1, help_text='Goes up with every change to the line or its shades.')),
                ('check_minutes', models.JSONField(blank=True, default=list, verbose_name='check at, minutes')),
                ('is_starting_point', models.BooleanField(default=False, help_text='Untick it when the shades and strengths are those of the real product.', verbose_name="a starting point, not yet the salon's own line")),
                ('doubts', models.JSONField(blank=True, default=dict, editable=False)),
                ('invented_answer', models.CharField(blank=True, choices=[('known', "We know: these are the demo's values"), ('own', 'It is our own line now')], default='', editable=False, max_length=5)),
                ('invented_answered_at', models.DateTimeField(blank=True, editable=False, null=True)),
                ('developer_bottle_grams', models.DecimalField(decimal_places=1, default=Decimal('1000'), max_digits=7, validators=[django.core.validators.MinValueValidator(Decimal('1'))], verbose_name='grams in a bottle of developer')),
                ('developer_bottle_price', models.DecimalField(decimal_places=2, default=Decimal('0'), help_text='0 means no price yet: costs then say so.', max_digits=8, validators=[django.core.validators.MinValueValidator(Decimal('0'))], verbose_name='price of a bottle of developer')),
                ('supplier', models.CharField(blank=True, max_length=80, verbose_name='supplier')),
                ('further_developers', models.JSONField(blank=True, default=list, verbose_name='further developers, % peroxide')),
                ('salon', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='lines', to='salon.salon')),
            ],
            options={
                'ordering': ['name', 'pk'],
                'constraints': [models.UniqueConstraint(fields=('salon', 'name'), name='line_name_once_per_salon'), models.CheckConstraint(condition=models.Q(('developer_ratio__gt', 0), ('processing_minutes__gt', 0)), name='line_ratio_and_time_positive'), models.CheckConstraint(condition=models.Q(('developer_percent__gte', 0), ('developer_percent__lte', 12)), name='line_peroxide_within_the_limit'), models.CheckConstraint(condition=models.Q(('kind__in', ['acidic', 'alkaline'])), name='line_kind_known'), models.CheckConstraint(condition=models.Q(('invented_answer__in', ['', 'known', 'own'])), name='line_invented_answer_known'), models.CheckConstraint(condition=models.Q(('developer_bottle_grams__gt', 0), ('developer_bottle_price__gte', 0)), name='line_developer_bottle_makes_sense')],
            },
        ),
        migrations.CreateModel(
            name='Shade',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=60, verbose_name='name')),
                ('level', models.DecimalField(blank=True, decimal_places=1, help_text='Empty for clear.', max_digits=3, null=True, validators=[django.core.validators.MinValueValidator(Decimal('1')), django.core.validators.MaxValueValidator(Decimal('10'))], verbose_name='level')),
                ('tones', models.JSONField(blank=True, default=dict, verbose_name='tone pigments')),
                ('neutral', models.FloatField(default=1.0, verbose_name='share of the neutral background')),
                ('strength', models.FloatField(default=1.0, verbose_name='strength learned by this salon')),
                ('reflectance', models.JSONField(blank=True, null=True, verbose_name='measured swatch')),
                ('tube_grams', models.DecimalField(decimal_places=1, default=Decimal('60'), max_digits=6, verbose_name='grams in a tube')),
                ('tube_price', models.DecimalField(decimal_places=2, default=Decimal('0'), max_digits=8, verbose_name='price of a tube')),
                ('is_active', models.BooleanField(default=True, verbose_name='in use')),
                ('line', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='shades', to='formulas.productline')),
                ('reorder_grams', models.DecimalField(blank=True, decimal_places=1, help_text='Left empty: a third of a tube.', max_digits=7, null=True, validators=[django.core.validators.MinValueValidator(Decimal('0'))], verbose_name='order when less is left, g')),
                ('allergens', models.CharField(blank=True, max_length=120, verbose_name='allergen family')),
                ('gtin', models.CharField(blank=True, max_length=14, validators=[django.core.validators.RegexValidator('\\A\\d{8,14}\\Z', 'Enter the digits under the bar code.')], verbose_name='number under the bar code')),
            ],
            options={
                'ordering': ['line', models.OrderBy(models.F('level'), nulls_last=True), 'name'],
                'constraints': [models.UniqueConstraint(fields=('line', 'name'), name='shade_name_once_per_line'), models.CheckConstraint(condition=models.Q(('level__isnull', True), models.Q(('level__gte', 1), ('level__lte', 10)), _connector='OR'), name='shade_level_within_1_to_10'), models.CheckConstraint(condition=models.Q(('neutral__gte', 0), ('strength__gt', 0)), name='shade_strength_positive'), models.CheckConstraint(condition=models.Q(('tube_grams__gt', 0), ('tube_price__gte', 0)), name='shade_tube_makes_sense'), models.CheckConstraint(condition=models.Q(('reorder_grams__isnull', True), ('reorder_grams__gte', 0), _connector='OR'), name='shade_reorder_level_not_negative'), models.UniqueConstraint(condition=models.Q(('gtin', ''), _negated=True), fields=('line', 'gtin'), name='shade_bar_code_once_per_line')],
            },
        ),
        migrations.CreateModel(
            name='StrengthRevision',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('number', models.PositiveIntegerField()),
                ('strengths', models.JSONField()),
                ('earlier', models.JSONField()),
                ('results', models.PositiveIntegerField()),
                ('is_taken_back', models.BooleanField(default=False)),
                ('missed_levels', models.FloatField(null=True)),
                ('missed_warmth', models.FloatField(null=True)),
                ('left_out_levels', models.FloatField(null=True)),
                ('left_out_warmth', models.FloatField(null=True)),
                ('engine_version', models.CharField(max_length=40)),
                ('data_version', models.PositiveIntegerField()),
                ('accepted_at', models.DateTimeField()),
                ('doubts', models.JSONField(default=dict)),
                ('earlier_doubts', models.JSONField(default=dict)),
                ('accepted_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('line', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='strength_revisions', to='formulas.productline')),
            ],
            options={
                'ordering': ['-number'],
                'abstract': False,
                'base_manager_name': 'objects',
                'constraints': [models.UniqueConstraint(fields=('line', 'number'), name='strengths_number_once'), models.CheckConstraint(condition=models.Q(('number__gte', 1)), name='strengths_number_from_one')],
            },
        ),
        migrations.CreateModel(
            name='ShelfBalance',
            fields=[
                ('shade', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='balance', serialize=False, to='formulas.shade')),
                ('grams', models.DecimalField(decimal_places=1, default=Decimal('0'), max_digits=10, verbose_name='grams')),
            ],
        ),
        migrations.CreateModel(
            name='StockMovement',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('grams', models.DecimalField(decimal_places=1, max_digits=8, verbose_name='grams')),
                ('reason', models.CharField(choices=[('received', 'received'), ('mixed', 'mixed'), ('counted', 'corrected by a count'), ('discarded', 'discarded')], max_length=10, verbose_name='reason')),
                ('batch', models.CharField(blank=True, max_length=40, verbose_name='batch')),
                ('recorded_at', models.DateTimeField()),
                ('expires_on', models.DateField(blank=True, null=True, verbose_name='best before')),
                ('price_per_gram', models.DecimalField(blank=True, decimal_places=4, editable=False, max_digits=10, null=True)),
                ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('salon', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='movements', to='salon.salon')),
                ('shade', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='movements', to='formulas.shade')),
            ],
            options={
                'ordering': ['-recorded_at', '-pk'],
                'abstract': False,
                'base_manager_name': 'objects',
                'indexes': [models.Index(fields=['shade', '-recorded_at'], name='movement_by_shade'), models.Index(fields=['salon', '-recorded_at', '-id'], name='movement_by_salon'), models.Index(condition=models.Q(('expires_on__isnull', False)), fields=['salon', 'expires_on'], name='movement_by_best_before'), models.Index(condition=models.Q(('reason', 'discarded')), fields=['salon', 'recorded_at'], name='movement_discarded')],
                'constraints': [models.CheckConstraint(condition=models.Q(('grams', 0), _negated=True), name='stock_movement_moves_something'), models.CheckConstraint(condition=models.Q(('reason', 'counted'), models.Q(('grams__gt', 0), ('reason', 'received')), models.Q(('grams__lt', 0), ('reason__in', ['mixed', 'discarded'])), _connector='OR'), name='stock_movement_sign_fits_reason')],
            },
        ),
    ]
