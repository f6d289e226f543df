using Supervisor.Runtime.Axes;

namespace Supervisor.Scenarios.Exploration;

/// <summary>What noticed a mutant.</summary>
internal enum Catcher
{
    Invariant,
    Story,

    /// <summary>Nothing can notice: in every state and whatever follows, all that is written, told and shown stays the same.</summary>
    SameToEverybody,
    Nobody,
}

internal sealed record Verdict(Mutant Mutant, Catcher By, string Why);

/// <summary>Judges mutants against the exploration of the real table: only what a mutant makes different is explored anew.</summary>
internal sealed class MutantCourt
{
    private const int FirstLook = 200;
    private const int Probes = 400;
    private const int ProbeCycles = 12;
    private const int FirstNewStates = 1_000;
    private const int MostNewStates = 20_000;
    private static readonly Turn[] Habits = [Turn.Act, Turn.HoldAfterQuickStop, Turn.Lag, Turn.Stick];
    private readonly CodedGoals _goals = new();
    private readonly Explorer _real;
    private readonly List<Story>[] _storiesOf;

    public MutantCourt()
    {
        _real = new Explorer(TableUnderTest.Real(), _goals);
        var violation = _real.Run();
        Assert.True(violation is null, violation);
        _storiesOf = [.. AxisTable.Rows.Select(_ => new List<Story>())];
        foreach (var story in Stories.All(_goals))
        {
            foreach (var row in RowsOf(story))
            {
                _storiesOf[row].Add(story);
            }
        }
    }

    public List<Verdict> JudgeAll() => [.. Mutant.All(AxisTable.Rows).Where(mutant => _real.UsesOf(mutant.Row).Count > 0).Select(Judge)];

    public Verdict Judge(Mutant mutant)
    {
        var table = TableUnderTest.Real();
        table.Replace(mutant.Row, mutant.By);
        var composition = new Composition(table, _goals);
        var uses = _real.UsesOf(mutant.Row);
        var fresh = new List<Composite>();
        var known = new HashSet<Packed>();
        return Invariant(LookAt(composition, uses.Take(FirstLook), known, fresh))
            ?? Invariant(Follow(composition, known, fresh, FirstNewStates))
            ?? Story(composition)
            ?? Invariant(LookAt(composition, uses.Skip(FirstLook), known, fresh))
            ?? Invariant(Probe(composition, fresh))
            ?? Invariant(Follow(composition, known, fresh, MostNewStates))
            ?? Compare(new Lockstep(_real, composition, _goals).Differs(uses));

        Verdict Compare(string? difference) => new(mutant, difference is null ? Catcher.SameToEverybody : Catcher.Nobody, difference ?? "");

        Verdict? Invariant(string? violation) => violation is null ? null : new Verdict(mutant, Catcher.Invariant, violation);

        Verdict? Story(Composition told)
        {
            foreach (var story in _storiesOf[mutant.Row])
            {
                if (story.Tell(told) is { } trouble)
                {
                    return told.Trail.Violation is { } violation ? Invariant(violation) : new Verdict(mutant, Catcher.Story, "");
                }
            }

            return null;
        }
    }

    /// <summary>Takes the steps that used the row, with the mutant in its place.</summary>
    private string? LookAt(Composition composition, IEnumerable<(int From, Turn Turn)> uses, HashSet<Packed> known, List<Composite> fresh)
    {
        foreach (var (from, turn) in uses)
        {
            if (!composition.Step(_real.States[from], turn, out var next))
            {
                return composition.Trail.Violation;
            }

            Add(next, known, fresh);
        }

        return null;
    }

    /// <summary>Lets a sample of what is new run on alone, deep rather than broad.</summary>
    private static string? Probe(Composition composition, List<Composite> fresh)
    {
        for (var at = 0; at < fresh.Count; at += Math.Max(1, fresh.Count / Probes))
        {
            foreach (var habit in Habits)
            {
                var s = fresh[at];
                for (var cycle = 0; cycle < ProbeCycles; cycle++)
                {
                    var turn = Composition.CanHappen(s, habit) ? habit : Turn.Act;
                    if (!composition.Step(s, turn, out s))
                    {
                        return composition.Trail.Violation;
                    }
                }
            }
        }

        return null;
    }

    /// <summary>Explores what the real table never reaches.</summary>
    private string? Follow(Composition composition, HashSet<Packed> known, List<Composite> fresh, int most)
    {
        for (var at = 0; at < fresh.Count && at < most; at++)
        {
            foreach (var turn in Composition.Turns)
            {
                if (!Composition.CanHappen(fresh[at], turn))
                {
                    continue;
                }

                if (!composition.Step(fresh[at], turn, out var next))
                {
                    return composition.Trail.Violation;
                }

                Add(next, known, fresh);
            }
        }

        return null;
    }

    private void Add(in Composite state, HashSet<Packed> known, List<Composite> fresh)
    {
        var packed = state.Pack();
        if (!_real.Knows(packed) && known.Add(packed))
        {
            fresh.Add(state);
        }
    }

    private HashSet<int> RowsOf(Story story)
    {
        var rows = new HashSet<int>();
        var composition = new Composition(TableUnderTest.Real(), _goals) { Rows = rows };
        Assert.Null(story.Tell(composition));
        return rows;
    }
}
