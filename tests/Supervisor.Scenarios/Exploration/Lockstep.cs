using Supervisor.Records.Axes;
using Supervisor.Runtime.Axes;

namespace Supervisor.Scenarios.Exploration;

/// <summary>Runs the real table and a mutant side by side through everything that can happen, for as long as they are in different states.</summary>
internal sealed class Lockstep(Explorer real, Composition mutant, CodedGoals goals)
{
    private const int MostPairs = 30_000;
    private readonly Composition _original = new(TableUnderTest.Real(), goals);
    private readonly HashSet<(Packed, Packed)> _known = [];
    private readonly Queue<(Composite Original, Composite Mutant)> _pairs = [];

    /// <summary>The first difference that can be seen; null when there is none, which is then proven for this composition.</summary>
    public string? Differs(IEnumerable<(int From, Turn Turn)> uses)
    {
        foreach (var (from, turn) in uses)
        {
            if (Take(real.States[from], real.States[from], turn) is { } difference)
            {
                return difference;
            }
        }

        while (_pairs.TryDequeue(out var pair))
        {
            if (_known.Count > MostPairs)
            {
                return $"not told apart within {MostPairs} pairs of states";
            }

            foreach (var turn in Composition.Turns)
            {
                if (Composition.CanHappen(pair.Original, turn) && Take(pair.Original, pair.Mutant, turn) is { } difference)
                {
                    return difference;
                }
            }
        }

        return null;
    }

    private string? Take(in Composite original, in Composite other, Turn turn)
    {
        if (!Composition.CanHappen(other, turn))
        {
            return $"{turn} is not possible with the mutant";
        }

        _original.Step(original, turn, out var a);
        mutant.Step(other, turn, out var b);
        if (_original.Trail.Seen() != mutant.Trail.Seen() || !LookAlike(a, b))
        {
            return $"{turn} in {original.Node}: {a.Node}/{b.Node}";
        }

        var (packedA, packedB) = (a.Pack(), b.Pack());
        if (!packedA.Equals(packedB) && _known.Add((packedA, packedB)))
        {
            _pairs.Enqueue((a, b));
        }

        return null;
    }

    // Where torque is off, or held by whichever limit while the brake closes, the limit does nothing.
    private static bool HasLimit(in Composite s) => s.Online && s.Powered && s.Node.Detail() != AxisDetail.Deenergising;

    /// <summary>What goes out on the wire, what is told and shown, and what is measured.</summary>
    private static bool LookAlike(in Composite a, in Composite b) =>
        a.Wanted == b.Wanted && a.WantsHoming == b.WantsHoming && (a.Limit == b.Limit || !HasLimit(a))
        && a.Node.State() == b.Node.State() && a.Node.Detail() == b.Node.Detail()
        && a.InHand == b.InHand && a.Faulted == b.Faulted && a.Referenced == b.Referenced && a.StayKnown == b.StayKnown
        && a.Power == b.Power && a.Motion == b.Motion && a.Link == b.Link && a.Recovering == b.Recovering;
}
