using System.Diagnostics;
using System.Text;
using Supervisor.Runtime.Axes;

namespace Supervisor.Scenarios.Exploration;

/// <summary>Every row changed or removed in turn: an invariant or a story must notice, or nothing that can be seen may differ.</summary>
public sealed class MutationTests
{
    /// <summary>Mutants that differ and harm nobody, each with the reason; one that is caught must not stand here.</summary>
    private static readonly Dictionary<string, string> Harmless = new()
    {
        ["Ready on DisableGiven: goal Halt instead of Hold"] = "a halt bit on an axis that stands and keeps torque until its brake is closed",
        ["FaultClearing on DeadlinePassed: goal CutPower instead of PowerOff"] = "the drive is off; the same word goes out one exchange earlier",
    };

    [Fact]
    public void Stories_OfTheRealTable_ComeToTheirEnd()
    {
        var goals = new CodedGoals();
        var composition = new Composition(TableUnderTest.Real(), goals);
        var stories = Stories.All(goals);
        TestContext.Current.TestOutputHelper!.WriteLine($"{stories.Count} stories");
        Assert.All(stories, story => Assert.Null(story.Tell(composition)));
    }

    [Fact]
    public void AxisTable_EachRowMutated_IsCaught()
    {
        var verdicts = new MutantCourt().JudgeAll();
        TestContext.Current.TestOutputHelper!.WriteLine(Summary(verdicts));
        var survivors = verdicts.Where(verdict => verdict.By == Catcher.Nobody).ToList();
        var unexplained = survivors.Where(verdict => !Harmless.ContainsKey(verdict.Mutant.What)).Select(verdict => $"{verdict.Mutant.What} [{verdict.Why}]").ToList();
        Assert.True(unexplained.Count == 0, $"{unexplained.Count} mutants survive:\n" + string.Join('\n', unexplained));
        Assert.Equal(Harmless.Keys.Order(), survivors.Select(verdict => verdict.Mutant.What).Order());
        JudgeEquivalents(verdicts);
    }

    private static void JudgeEquivalents(List<Verdict> verdicts)
    {
        var same = verdicts.Where(verdict => verdict.By == Catcher.SameToEverybody).ToList();
        var unexplained = same.Where(verdict => !Equivalent.All.Any(reason => IsFor(reason, verdict))).Select(verdict => verdict.Mutant.What).ToList();
        Assert.True(unexplained.Count == 0, $"{unexplained.Count} mutants are the same to everybody, and nobody has said why:\n" + string.Join('\n', unexplained));
        var unused = Equivalent.All.Where(reason => !same.Any(verdict => IsFor(reason, verdict))).Select(reason => reason.Why);
        Assert.Empty(unused);
    }

    private static bool IsFor(Equivalent reason, Verdict verdict) => verdict.Mutant.By is { } by && reason.Holds(AxisTable.Rows[verdict.Mutant.Row], by);

    private static string Summary(List<Verdict> verdicts)
    {
        var text = new StringBuilder().AppendLine($"{verdicts.Count} mutants of {verdicts.Select(verdict => verdict.Mutant.Row).Distinct().Count()} rows");
        foreach (var group in verdicts.GroupBy(verdict => (verdict.By, Rule: RuleOf(verdict))).OrderBy(group => group.Key.By).ThenByDescending(group => group.Count()))
        {
            text.AppendLine($"  {group.Count(),5}  {group.Key.By}: {group.Key.Rule}");
        }

        return text.ToString();
    }

    // The rule alone, without what broke it.
    private static string RuleOf(Verdict verdict) => verdict.By switch
    {
        Catcher.Invariant when verdict.Why.StartsWith("total", StringComparison.Ordinal) => "total: what can happen has a row",
        Catcher.Invariant when verdict.Why.StartsWith("ends once", StringComparison.Ordinal) => "ends once: a command that is taken ends before another is",
        Catcher.Invariant => verdict.Why,
        Catcher.Story => "comes to the end that the design gives it",
        Catcher.SameToEverybody => Equivalent.All.FirstOrDefault(reason => IsFor(reason, verdict))?.Why ?? verdict.Mutant.What,
        Catcher.Nobody => verdict.Mutant.What,
        _ => "",
    };
}
