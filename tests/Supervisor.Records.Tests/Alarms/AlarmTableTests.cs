using Supervisor.Records.Alarms;

namespace Supervisor.Records.Tests.Alarms;

/// <summary>
/// The table against the alarm state transition diagram of ISA-18.2 and IEC 62682, written down here by the standard's letters and words. The letters, the
/// states and which arrow leads where are from memory, as the standard was not at hand; what is our own is marked.
/// </summary>
public sealed class AlarmTableTests
{
    // A normal, B unacknowledged, C acknowledged, D returned to normal unacknowledged, E latched unacknowledged, F latched acknowledged, G shelved.
    private static readonly string[] Arrows =
    [
        "A alarm occurs B",
        "B acknowledge C",
        "B returns to normal D",
        "B returns to normal, latched E",
        "C returns to normal A",
        "C returns to normal, latched F",
        "C re-alarm B",
        "D acknowledge A",
        "D re-alarm B",
        "E acknowledge F",
        "E reset D",
        "E re-alarm B",
        "F reset A",
        "F re-alarm B",
        "A shelve G",
        "B shelve G",
        "C shelve G",
        "D shelve G",
        "E shelve G",
        "F shelve G",

        // Leads to where the alarm would be, nobody having acknowledged it since.
        "G un-shelve A",
        "G un-shelve B",
        "G un-shelve E",
    ];

    // Within shelved the standard draws nothing: what happens meanwhile is kept so that the end of it leads rightly. Telling a condition anew while nobody
    // has acknowledged it, and a new time for what is shelved, stay where they are. Our own.
    private static readonly string[] Own = ["B re-alarm B", "G alarm occurs G", "G re-alarm G", "G returns to normal G", "G returns to normal, latched G", "G reset G", "G shelve G"];

    private static IEnumerable<(AlarmState From, AlarmEvent Event, AlarmState? To)> Rows =>
        from state in Enum.GetValues<AlarmState>() from happens in Enum.GetValues<AlarmEvent>() select (state, happens, AlarmTable.After(state, happens));

    [Fact]
    public void Table_HoldsTheArrowsOfTheStandard_AndNoOthers()
    {
        var drawn = Rows.Where(row => row.To is not null).Select(row => $"{Letter(row.From)} {Word(row.From, row.Event)} {Letter(row.To!.Value)}").Distinct().Order().ToArray();
        Assert.Equal([.. Arrows.Concat(Own).Order()], drawn);
    }

    /// <summary>Plays every history of up to seven events, and asks a model that knows of no table: the condition, the latch, whether a person knows, and the shelf.</summary>
    [Fact]
    public void Table_AfterEveryHistoryOfSevenEvents_IsWhereItsFactsSay()
    {
        var visited = new HashSet<AlarmState>();
        var steps = 0;
        Explore(AlarmState.Normal, new Facts(false, false, false, false), 7);
        Assert.Equal(Enum.GetValues<AlarmState>().Length, visited.Count);
        TestContext.Current.TestOutputHelper?.WriteLine($"{steps} steps, {visited.Count} states");

        void Explore(AlarmState state, Facts facts, int left)
        {
            visited.Add(state);
            Assert.Equal(facts.State, state);
            foreach (var happens in left > 0 ? Enum.GetValues<AlarmEvent>() : [])
            {
                steps++;
                var next = AlarmTable.After(state, happens);
                var after = facts.After(happens);
                Assert.True((next is null) == (after is null), $"{state} {happens}: the table leads to {next}, the facts to {after}");
                if (next is { } to)
                {
                    Explore(to, after!.Value, left - 1);
                }
            }
        }
    }

    [Fact]
    public void Questions_OfAState_AreAnsweredAsTheLettersSay()
    {
        foreach (var state in Enum.GetValues<AlarmState>())
        {
            var letter = Letter(state);
            Assert.Equal(letter is 'B' or 'D' or 'E', state.IsUnacknowledged());
            Assert.Equal(letter == 'G', state.IsShelved());
            if (letter != 'G')
            {
                Assert.Equal(letter is 'B' or 'C', state.IsActive());
                Assert.Equal(letter is 'E' or 'F', state.IsLatched());
            }
        }
    }

    [Fact]
    public void Numbers_AreStored_AndStayAsTheyAre() => Assert.Equal(
        "Normal 0, UnacknowledgedActive 1, AcknowledgedActive 2, ReturnedUnacknowledged 3, LatchedUnacknowledged 4, LatchedAcknowledged 5, ShelvedNormal 6, ShelvedActive 7, ShelvedLatched 8",
        string.Join(", ", Enum.GetValues<AlarmState>().Select(state => $"{state} {(int)state}")));

    private static char Letter(AlarmState state) => state switch
    {
        AlarmState.Normal => 'A',
        AlarmState.UnacknowledgedActive => 'B',
        AlarmState.AcknowledgedActive => 'C',
        AlarmState.ReturnedUnacknowledged => 'D',
        AlarmState.LatchedUnacknowledged => 'E',
        AlarmState.LatchedAcknowledged => 'F',
        _ => 'G',
    };

    private static string Word(AlarmState from, AlarmEvent happens) => happens switch
    {
        AlarmEvent.Occurs => from is AlarmState.Normal or AlarmState.ShelvedNormal ? "alarm occurs" : "re-alarm",
        AlarmEvent.Clears => "returns to normal",
        AlarmEvent.ClearsLatched => "returns to normal, latched",
        AlarmEvent.Acknowledged => "acknowledge",
        AlarmEvent.Reset => "reset",
        AlarmEvent.TakenOutOfService => "shelve",
        _ => "un-shelve",
    };

    /// <summary>What is the case, whatever it is called.</summary>
    private readonly record struct Facts(bool Stands, bool IsLatched, bool IsAsked, bool IsShelved)
    {
        public AlarmState State => (IsShelved, Stands, IsLatched, IsAsked) switch
        {
            (true, true, _, _) => AlarmState.ShelvedActive,
            (true, _, true, _) => AlarmState.ShelvedLatched,
            (true, _, _, _) => AlarmState.ShelvedNormal,
            (_, true, _, true) => AlarmState.UnacknowledgedActive,
            (_, true, _, false) => AlarmState.AcknowledgedActive,
            (_, _, true, true) => AlarmState.LatchedUnacknowledged,
            (_, _, true, false) => AlarmState.LatchedAcknowledged,
            (_, _, _, true) => AlarmState.ReturnedUnacknowledged,
            _ => AlarmState.Normal,
        };

        /// <summary>Null where nothing can happen to it.</summary>
        public Facts? After(AlarmEvent happens) => happens switch
        {
            AlarmEvent.Occurs => this with { Stands = true, IsLatched = false, IsAsked = !IsShelved },
            AlarmEvent.Clears when Stands => this with { Stands = false },
            AlarmEvent.ClearsLatched when Stands => this with { Stands = false, IsLatched = true },
            AlarmEvent.Acknowledged when IsAsked => this with { IsAsked = false },
            AlarmEvent.Reset when IsLatched => this with { IsLatched = false },
            AlarmEvent.TakenOutOfService => this with { IsShelved = true, IsAsked = false },
            AlarmEvent.BackInService when IsShelved => this with { IsShelved = false, IsAsked = Stands || IsLatched },
            _ => null,
        };
    }
}
