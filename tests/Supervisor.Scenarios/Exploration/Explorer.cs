using System.Text;

namespace Supervisor.Scenarios.Exploration;

/// <summary>Breadth-first over everything that can happen.</summary>
internal sealed class Explorer
{
    private readonly Dictionary<Packed, int> _known = [];
    private readonly List<Composite> _states = [];
    private readonly List<(int From, Turn Turn)> _parents = [];
    private readonly List<(int From, Turn Turn)>[] _uses;
    private readonly Composition _composition;

    public Explorer(TableUnderTest table, CodedGoals goals)
    {
        _composition = new Composition(table, goals);
        _uses = [.. table.Rows.Select(_ => new List<(int, Turn)>())];
    }

    public IReadOnlyList<Composite> States => _states;

    public long Transitions { get; private set; }

    /// <summary>The steps that used a row, nearest to the start first.</summary>
    public IReadOnlyList<(int From, Turn Turn)> UsesOf(int row) => _uses[row];

    public bool Knows(in Packed state) => _known.ContainsKey(state);

    /// <summary>The ways to what was violated, one of each kind.</summary>
    public Dictionary<string, string> Found { get; } = [];

    /// <summary>Explores all; violations with the ways to them, null when there is none.</summary>
    public string? Run(int atMost = int.MaxValue)
    {
        foreach (var start in Composition.Starts())
        {
            Add(start, -1, Turn.Act);
        }

        for (var at = 0; at < _states.Count; at++)
        {
            var state = _states[at];
            foreach (var turn in Composition.Turns)
            {
                if (!Composition.CanHappen(state, turn))
                {
                    continue;
                }

                Transitions++;
                var holds = _composition.Step(state, turn, out var next);
                if (!holds)
                {
                    Found.TryAdd(_composition.Trail.Violation!, $"{_composition.Trail.Violation}\n{WayTo(at)}  {turn}\n    {next}");
                    if (Found.Count >= 6)
                    {
                        return string.Join('\n', Found.Values);
                    }

                    continue;
                }

                foreach (var row in _composition.Trail.Rows)
                {
                    _uses[row].Add((at, turn));
                }

                Add(next, at, turn);
            }

            if (_states.Count > atMost)
            {
                return $"more than {atMost} states";
            }
        }

        return Found.Count > 0 ? string.Join('\n', Found.Values) : null;
    }

    private void Add(in Composite state, int from, Turn turn)
    {
        if (_known.TryAdd(state.Pack(), _states.Count))
        {
            _states.Add(state);
            _parents.Add((from, turn));
        }
    }

    private string WayTo(int state)
    {
        var way = new List<string>();
        for (var at = state; at >= 0; at = _parents[at].From)
        {
            way.Add($"  {_parents[at].Turn}\n    {_states[at]}");
        }

        way.Reverse();
        return new StringBuilder().AppendJoin('\n', way).Append('\n').ToString();
    }
}
