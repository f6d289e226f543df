using Supervisor.Records.Axes;
using Supervisor.Runtime.Axes;

namespace Supervisor.Scenarios.Exploration;

/// <summary>
/// A healthy axis's life, and what may befall it at every moment of that: told with a drive that does what it is told, each story must
/// come to the end that the design's table of states gives it.
/// </summary>
internal static class Stories
{
    private const int LongestSettling = 25;

    // One axis's working life: every state that the design's table names is passed on the good way.
    private static readonly (Turn Event, AxisState End)[] Life =
    [
        (Turn.TakeAuthority, AxisState.Disabled),
        (Turn.GiveHome, AxisState.Ready),
        (Turn.GiveMove, AxisState.Ready),
        (Turn.GiveContact, AxisState.Ready),
        (Turn.GiveJog, AxisState.Ready),
        (Turn.GiveMove, AxisState.Ready),
        (Turn.GiveProof, AxisState.Ready),
        (Turn.GiveHome, AxisState.Ready),
        (Turn.GiveDisable, AxisState.Disabled),
        (Turn.GiveEnable, AxisState.Ready),
        (Turn.FindFault, AxisState.Faulted),
        (Turn.GiveReset, AxisState.Disabled),
        (Turn.GiveEnable, AxisState.Ready),
    ];

    private static readonly Turn[] Befalls =
    [
        Turn.Stop, Turn.Halt, Turn.Category2, Turn.Category1, Turn.Category0, Turn.GiveDisable, Turn.GiveMove, Turn.GiveJog, Turn.ReleaseJog, Turn.OpenEnabling,
        Turn.FindFault, Turn.Trip, Turn.LoseTorque, Turn.LoseAuthority, Turn.Miss, Turn.LeaveUnrelieved, Turn.GiveProof,
        Turn.FailProof, Turn.GiveSupport,
    ];

    /// <summary>What may befall an axis at every moment of its life, and again while it comes to the end of that.</summary>
    public static List<Story> All(CodedGoals goals)
    {
        var composition = new Composition(TableUnderTest.Real(), goals);
        var moments = new Dictionary<Packed, Composite>();
        Assert.Null(Live(composition, moments));
        var stories = new List<Story> { new("an axis lives", told => Live(told, null)) };
        foreach (var moment in moments.Values.ToList())
        {
            foreach (var befall in Befalls.Where(befall => Composition.CanHappen(moment, befall)))
            {
                Assert.Null(Befall(composition, moment, befall, moments));
            }
        }

        foreach (var moment in moments.Values)
        {
            foreach (var befall in Befalls.Where(befall => Composition.CanHappen(moment, befall)))
            {
                stories.Add(new($"{befall} in {moment.Node}", told => Befall(told, moment, befall, null)));
            }
        }

        return stories;
    }

    private static string? Live(Composition composition, Dictionary<Packed, Composite>? moments)
    {
        var s = Composition.Starts().First();
        var trouble = Do(composition, ref s, Turn.Answer) ?? Settle(composition, ref s, moments) ?? Ends(s, AxisState.Disabled, Turn.Answer);
        foreach (var (turn, end) in Life)
        {
            trouble ??= Do(composition, ref s, turn);
            moments?.TryAdd(s.Pack(), s);
            trouble ??= Settle(composition, ref s, moments) ?? Ends(s, end, turn);
        }

        return trouble;
    }

    private static string? Befall(Composition composition, Composite before, Turn turn, Dictionary<Packed, Composite>? moments)
    {
        var s = before;
        var trouble = Do(composition, ref s, turn);
        var end = EndOf(before, s.Permit, turn);
        return trouble ?? Settle(composition, ref s, moments) ?? (end is { } expected ? Ends(s, expected, turn) : null);
    }

    /// <summary>Where the design's table leads; null where it leaves two ends open.</summary>
    private static AxisState? EndOf(in Composite before, Permit permit, Turn turn) => turn switch
    {
        // A drive that trips while its fault is being reset may be reset of that too.
        Turn.Trip when before.InHand == Hand.Reset => null,
        Turn.FindFault or Turn.Trip or Turn.FailProof => AxisState.Faulted,
        Turn.LoseTorque when before.Permit != Permit.Off => AxisState.Faulted,
        _ when before.Faulted && before.InHand != Hand.Reset => AxisState.Faulted,
        _ => permit == Permit.Off ? AxisState.Disabled : AxisState.Ready,
    };

    /// <summary>Lets a healthy drive do what it is told until the axis rests.</summary>
    private static string? Settle(Composition composition, ref Composite s, Dictionary<Packed, Composite>? moments)
    {
        for (var cycle = 0; cycle < LongestSettling; cycle++)
        {
            var turn = Composition.CanHappen(s, Turn.PassProof) ? Turn.PassProof : Composition.CanHappen(s, Turn.Finish) && s.MoveTaken | s.Homing ? Turn.Finish : Turn.Act;
            if (Do(composition, ref s, turn) is { } trouble)
            {
                return trouble;
            }

            moments?.TryAdd(s.Pack(), s);
            if (s.InHand == Hand.None && (s.Node.Detail() == AxisDetail.None || (s.Node.Detail() == AxisDetail.HoldingLoad && !s.Pending)) && s.Clean && s.Motion == Motion.Still)
            {
                return null;
            }
        }

        return $"is still {s.Node} after {LongestSettling} cycles";
    }

    private static string? Do(Composition composition, ref Composite s, Turn turn)
    {
        var holds = composition.Step(s, turn, out var next);
        s = next;
        return holds ? null : composition.Trail.Violation;
    }

    private static string? Ends(in Composite s, AxisState end, Turn after) =>
        s.Node.State() != end ? $"{after} leads to {s.Node.State()} instead of {end}"
        : s.Powered != (end == AxisState.Ready || s.Permit == Permit.Hold) ? $"{after} leads to {end} with torque {s.Powered}"
        : null;
}

/// <summary>One story; telling it gives null, or why it does not come to its end.</summary>
internal sealed record Story(string Name, Func<Composition, string?> Tell);
