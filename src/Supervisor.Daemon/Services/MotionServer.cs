using Grpc.Core;
using Supervisor.Api.V1;
using Supervisor.Machine.Api;
using Supervisor.Records.Commands;

namespace Supervisor.Daemon.Services;

/// <summary>Serves commands. What was submitted is the coordinator's: a call that is cancelled or out of time only stops listening.</summary>
public sealed class MotionServer(MachineControl control, AuthorityDesk desk, JogDesk jogs, StreamPace pace) : MotionService.MotionServiceBase
{
    /// <inheritdoc/>
    public override Task Enable(EnableRequest request, IServerStreamWriter<EnableResponse> responseStream, ServerCallContext context) =>
        RunAsync(
            new EnableCommand(CommandReading.AxesOrAll(control.Machine, request.Axes)), request.AuthorityToken,
            told => responseStream.WriteAsync(new EnableResponse { Event = told }, CancellationToken.None), context);

    /// <inheritdoc/>
    public override Task Disable(DisableRequest request, IServerStreamWriter<DisableResponse> responseStream, ServerCallContext context) =>
        RunAsync(
            new DisableCommand(CommandReading.AxesOrAll(control.Machine, request.Axes)), request.AuthorityToken,
            told => responseStream.WriteAsync(new DisableResponse { Event = told }, CancellationToken.None), context);

    /// <inheritdoc/>
    public override Task Home(HomeRequest request, IServerStreamWriter<HomeResponse> responseStream, ServerCallContext context) =>
        RunAsync(
            new HomeCommand(CommandReading.Axes(control.Machine, request.Axes), request.Confirm), request.AuthorityToken,
            told => responseStream.WriteAsync(new HomeResponse { Event = told }, CancellationToken.None), context);

    /// <inheritdoc/>
    public override Task ProveBrake(ProveBrakeRequest request, IServerStreamWriter<ProveBrakeResponse> responseStream, ServerCallContext context) =>
        RunAsync(
            new ProveBrakeCommand(CommandReading.AxesWithProof(control.Machine, request.Axes)), request.AuthorityToken,
            told => responseStream.WriteAsync(new ProveBrakeResponse { Event = told }, CancellationToken.None), context);

    /// <inheritdoc/>
    public override Task Move(MoveRequest request, IServerStreamWriter<MoveResponse> responseStream, ServerCallContext context) =>
        RunAsync(
            CommandReading.Move(control.Machine, request), request.AuthorityToken,
            told => responseStream.WriteAsync(new MoveResponse { Event = told }, CancellationToken.None), context);

    /// <inheritdoc/>
    public override Task Contact(ContactRequest request, IServerStreamWriter<ContactResponse> responseStream, ServerCallContext context) =>
        RunAsync(
            CommandReading.Contact(control.Machine, request), request.AuthorityToken,
            told => responseStream.WriteAsync(new ContactResponse { Event = told }, CancellationToken.None), context);

    /// <inheritdoc/>
    public override Task Stop(StopRequest request, IServerStreamWriter<StopResponse> responseStream, ServerCallContext context) =>
        RunAsync(
            new StopCommand(CommandReading.Axes(control.Machine, request.Axes), CommandReading.Name(request.RequestedBy)), "",
            told => responseStream.WriteAsync(new StopResponse { Event = told }, CancellationToken.None), context);

    /// <inheritdoc/>
    public override Task Halt(HaltRequest request, IServerStreamWriter<HaltResponse> responseStream, ServerCallContext context) =>
        RunAsync(
            new HaltCommand(CommandReading.Axes(control.Machine, request.Axes)), "",
            told => responseStream.WriteAsync(new HaltResponse { Event = told }, CancellationToken.None), context);

    /// <inheritdoc/>
    public override Task Release(ReleaseRequest request, IServerStreamWriter<ReleaseResponse> responseStream, ServerCallContext context) =>
        RunAsync(
            new ReleaseCommand(CommandReading.Axes(control.Machine, request.Axes)), request.AuthorityToken,
            told => responseStream.WriteAsync(new ReleaseResponse { Event = told }, CancellationToken.None), context);

    /// <inheritdoc/>
    public override Task Reset(ResetRequest request, IServerStreamWriter<ResetResponse> responseStream, ServerCallContext context) =>
        RunAsync(
            new ResetCommand(CommandReading.Axes(control.Machine, request.Axes), request.LoadSupported), request.AuthorityToken,
            told => responseStream.WriteAsync(new ResetResponse { Event = told }, CancellationToken.None), context);

    /// <inheritdoc/>
    public override Task SetOutput(SetOutputRequest request, IServerStreamWriter<SetOutputResponse> responseStream, ServerCallContext context) =>
        RunAsync(
            new SetOutputCommand(request.Axis.Length == 0 ? -1 : CommandReading.Axis(control.Machine, request.Axis, "axis"), request.Output, request.On), request.AuthorityToken,
            told => responseStream.WriteAsync(new SetOutputResponse { Event = told }, CancellationToken.None), context);

    /// <inheritdoc/>
    public override Task SwitchPower(SwitchPowerRequest request, IServerStreamWriter<SwitchPowerResponse> responseStream, ServerCallContext context) =>
        RunAsync(
            new SwitchPowerCommand(request.On), request.AuthorityToken,
            told => responseStream.WriteAsync(new SwitchPowerResponse { Event = told }, CancellationToken.None), context);

    /// <inheritdoc/>
    public override Task ChooseMode(ChooseModeRequest request, IServerStreamWriter<ChooseModeResponse> responseStream, ServerCallContext context) =>
        RunAsync(
            new ChooseModeCommand(CommandReading.Mode(request.Mode)), request.AuthorityToken,
            told => responseStream.WriteAsync(new ChooseModeResponse { Event = told }, CancellationToken.None), context);

    /// <inheritdoc/>
    public override async Task<JogResponse> Jog(JogRequest request, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        var jog = CommandReading.Jog(control.Machine, request);
        var press = Grant(request.AuthorityToken) is { } grant ? jogs.Press(grant, request.PressId, jog) : control.Jog(jog, null);
        if (await press.Ticket.Accepted.WaitAsync(context.CancellationToken) is { } early && early.Outcome != Records.Commands.Outcome.Done)
        {
            throw ApiErrors.From(early, control.Machine);
        }

        return new JogResponse
        {
            Event = press.Ticket.Completion.IsCompletedSuccessfully
                ? new CommandEvent { Ended = Ended(await press.Ticket.Completion) }
                : new CommandEvent { Accepted = new CommandAccepted { CommandId = press.Ticket.Id } },
        };
    }

    /// <inheritdoc/>
    public override Task<EndJogResponse> EndJog(EndJogRequest request, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        if (Grant(request.AuthorityToken) is { } grant)
        {
            jogs.End(grant, request.PressId);
        }

        return Task.FromResult(new EndJogResponse());
    }

    private AuthorityGrant? Grant(string token) => desk.Find(token);

    private async Task RunAsync(MachineCommand command, string token, Func<CommandEvent, Task> tell, ServerCallContext context)
    {
        var ticket = control.Submit(command, desk.Find(token));
        using var ends = CancellationTokenSource.CreateLinkedTokenSource(context.CancellationToken, pace.Ending);
        var answer = await CommandStream.FollowAsync(control, ticket, tell, ends.Token);
        await tell(new CommandEvent { Ended = Ended(answer) });
    }

    private CommandEnded Ended(CommandAnswer answer) => CommandStream.Ended(control, answer);

    internal static Api.V1.Outcome ToMessage(Records.Commands.Outcome outcome) => outcome switch
    {
        Records.Commands.Outcome.Done => Api.V1.Outcome.Done,
        Records.Commands.Outcome.Replaced => Api.V1.Outcome.Replaced,
        Records.Commands.Outcome.Refused => Api.V1.Outcome.Refused,
        Records.Commands.Outcome.Failed => Api.V1.Outcome.Failed,
        _ => Api.V1.Outcome.Unspecified,
    };
}
