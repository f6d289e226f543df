using Supervisor.Runtime.Axes;

namespace Supervisor.Scenarios.Exploration;

/// <summary>Rows to interpret: the real table's, or a mutant of them.</summary>
internal sealed class TableUnderTest
{
    private const int Width = 64;
    private const AxisEffects Known = AxisEffects.Replace | AxisEffects.Take | AxisEffects.Done | AxisEffects.Fail | AxisEffects.Latch | AxisEffects.Report
        | AxisEffects.Unlatch | AxisEffects.LoseReference | AxisEffects.GainReference | AxisEffects.Stay;

    private readonly short[] _index = new short[Width * Width];
    private readonly AxisRow[] _rows;

    public TableUnderTest(IReadOnlyList<AxisRow> rows)
    {
        _rows = [.. rows];
        Array.Fill(_index, (short)-1);
        for (var i = 0; i < _rows.Length; i++)
        {
            if ((_rows[i].Effects & ~Known) != 0)
            {
                throw new NotSupportedException($"The exploration does not know all of the effects {_rows[i].Effects}: teach them to {nameof(TableAxis)}");
            }

            _index[Cell(_rows[i].From, _rows[i].On)] = (short)i;
        }
    }

    /// <summary>The table the axes run on.</summary>
    public static TableUnderTest Real() => new(AxisTable.Rows);

    public IReadOnlyList<AxisRow> Rows => _rows;

    /// <summary>Number of the row, -1 when there is none.</summary>
    public int Find(AxisNode node, AxisEvent on) => _index[Cell(node, on)];

    public ref readonly AxisRow this[int row] => ref _rows[row];

    public bool Awaits(AxisNode node, AxisEvent on) => Find(node, on) >= 0;

    /// <summary>Puts another row in a row's place; a row whose place is null is removed.</summary>
    public void Replace(int row, AxisRow? by)
    {
        var cell = Cell(_rows[row].From, _rows[row].On);
        _index[cell] = by is null ? (short)-1 : (short)row;
        _rows[row] = by ?? _rows[row];
    }

    private static int Cell(AxisNode node, AxisEvent on) => ((int)node * Width) + (int)on;
}
