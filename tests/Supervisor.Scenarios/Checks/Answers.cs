using Supervisor.Machine.Api;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Scenarios.Stories;

namespace Supervisor.Scenarios.Checks;

/// <summary>
/// Every command is answered once and in time: accepted or refused, then ended with a reason a person can read. PLCopen's motion function
/// blocks promise the same: exactly one of done, aborted, error. A second end throws in the coordinator and is found as an exception.
/// </summary>
public sealed class Answers(StoryWorld world) : Checker(world)
{
    // The slowest thing anyone asks for is a whole travel at a crawl, half as long again.
    private static readonly TimeSpan Longest = TimeSpan.FromMinutes(8);
    private readonly HashSet<GivenCommand> _told = [];

    /// <summary>A planted bug: answers that take longer than this are late.</summary>
    public TimeSpan Patience { get; set; } = Longest;

    /// <inheritdoc/>
    public override void OnKill() => _told.Clear();

    /// <inheritdoc/>
    public override void OnEnd(GivenCommand given)
    {
        Looks++;
        var answer = given.Answer!;
        if (!given.Ticket.Accepted.IsCompleted)
        {
            Find(-1, $"{given} ended before it was accepted or refused");
        }
        else if (answer.Outcome == Outcome.Refused && given.Ticket.Accepted.Result is null)
        {
            Find(-1, $"{given} was accepted, then refused: {answer}");
        }

        if (answer.Id != given.Ticket.Id || Lacks(answer) is not null)
        {
            Find(-1, $"{given}: {Lacks(answer) ?? "another command's answer"}: {answer}");
        }
    }

    /// <inheritdoc/>
    public override void OnStep()
    {
        foreach (var given in World.Open)
        {
            if (Now - given.At > Patience && !(given.RunsWithoutEnd && given.Ticket.Accepted.IsCompleted) && _told.Add(given))
            {
                Find(-1, $"{given} is not answered after {(Now - given.At).TotalSeconds:0} s");
            }
        }
    }

    private static string? Lacks(CommandAnswer answer) => answer switch
    {
        { Outcome: Outcome.None } => "no outcome",
        { Message.Length: 0 } => "no message",
        { Outcome: Outcome.Done } => answer.Refusal != Refusal.None || answer.Fault != FaultCode.None ? "done, with a reason against it" : null,
        { Outcome: Outcome.Refused or Outcome.Replaced, Refusal: Refusal.None } => "no reason",
        { Outcome: Outcome.Failed, Refusal: Refusal.None, Fault: FaultCode.None } => "no fault",
        _ => null,
    };
}
